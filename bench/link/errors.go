package link

import (
	"errors"
	"net"
	"os"
	"syscall"
)

// address is an endpoint as a net.Addr.
type address struct{ e Endpoint }

func (a address) Network() string { return a.e.Network }
func (a address) String() string  { return a.e.Address }

// opError wraps an error as package net does.
func opError(op string, e Endpoint, err error) error {
	return &net.OpError{Op: op, Net: e.Network, Addr: address{e}, Err: err}
}

// refused is what a connection attempt gets from a closed port.
func refused(e Endpoint) error {
	return opError("dial", e, os.NewSyscallError("connect", syscall.ECONNREFUSED))
}

// unreachable is what a datagram socket reads after a closed port answered.
func unreachable(e Endpoint) error {
	return opError("read", e, os.NewSyscallError("read", syscall.ECONNREFUSED))
}

// reset is what a connection reads after the peer broke it.
func reset(e Endpoint) error {
	return opError("read", e, os.NewSyscallError("read", syscall.ECONNRESET))
}

// errPeer says what Service.Peer cannot be.
var errPeer = errors.New("only a datagram service talks to a peer, by datagrams")

// checkPeer refuses a peer that nobody could talk to.
func checkPeer(s Service) error {
	if s.Endpoint.Network != "udp" || s.Peer.Network != "udp" {
		return opError("dial", s.Peer, errPeer)
	}
	return nil
}

// checkEndpoint refuses what neither network can carry.
func checkEndpoint(op string, e Endpoint) error {
	if e.Network != "tcp" && e.Network != "udp" {
		return opError(op, e, net.UnknownNetworkError(e.Network))
	}
	if _, _, err := net.SplitHostPort(e.Address); err != nil {
		return opError(op, e, err)
	}
	return nil
}
