package link

// connect is the event by which the device learns of a new connection. A
// cable that is out delays that to the first message that gets through.
func (s *memoryService) connect(c *memoryConn) {
	if s.serves(c) && !s.unplugged() && !c.dialer.unplugged() {
		s.open(c)
	}
}

// open makes the session of a stream, or of all datagrams, once.
func (s *memoryService) open(c *memoryConn) {
	if s.at.Network == "udp" {
		if s.Peer == (Endpoint{}) {
			s.peer = c
		}
		s.openDatagrams()
		return
	}
	if c.session == nil {
		s.net.tap(s, c, ToDevice, EventOpen, nil)
		c.session = s.Open()
		s.listenTo(c.session, c)
	}
}

func (s *memoryService) openDatagrams() {
	if s.session == nil {
		s.session = s.Open()
		s.listenTo(s.session, nil)
	}
}

// speakTo has a datagram service talk to a configured peer.
func (s *memoryService) speakTo(peer Endpoint) error {
	if peer == (Endpoint{}) {
		return nil
	}
	to, err := literal("dial", peer)
	if err == nil {
		err = checkPeer(s.Service)
	}
	if err != nil {
		return err
	}
	s.peer = s.net.connect(peer, to, s.Framing)
	s.peer.owner, s.peer.controller = s, s.address
	h := s.impairments.history(true)
	s.peer.atController, s.peer.atDevice = [2]history{h, h}, [2]history{h, h}
	s.net.clock.At(s.net.clock.Now(), s.openDatagrams)
	return nil
}

// listenTo lets a device talk unasked: on a stream, or with c nil by datagrams.
func (s *memoryService) listenTo(session Session, c *memoryConn) {
	if e, ok := session.(Emitter); ok {
		s.emit(c, e)
	}
}

// emit takes what the device says unasked, now and when it says.
func (s *memoryService) emit(c *memoryConn, e Emitter) {
	if !s.serves(c) {
		return
	}
	now := s.net.clock.Now()
	if s.Advance != nil {
		s.Advance(now)
	}
	message, next := e.Emit(now)
	to := c
	if c == nil && !s.refuses() {
		to = s.peer
	}
	if len(message) > 0 && to != nil {
		s.send(to, message)
	}
	if next > now {
		s.net.clock.At(next, func() { s.emit(c, e) })
	}
}
