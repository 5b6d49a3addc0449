package modbus

import (
	"bytes"
	"errors"
	"testing"
)

// seeds gives every row of the vectors to a fuzzer as a request and a reply.
func seeds(f *testing.F, add func(request, reply []byte)) {
	for _, file := range append(exchangeFiles, "identity.txt") {
		for _, v := range vectors(f, file) {
			add(message(header, v.request), message(header, v.reply))
		}
	}
	for _, v := range vectors(f, "mbap.txt") {
		add(v.request, v.reply)
	}
}

func FuzzRespond(f *testing.F) {
	seeds(f, func(request, _ []byte) { f.Add(request) })
	s := &Server{}
	s.Attach(UnitDirect, &Unit{Bank: &memory{count: 1 << 16}, Identity: identities(f)["full"]})
	s.Attach(1, &Unit{Bank: failing{}})
	f.Fuzz(func(t *testing.T, request []byte) {
		before := bytes.Clone(request)
		reply := s.Respond(nil, request)
		if !bytes.Equal(before, request) {
			t.Fatal("the request was changed")
		}
		if len(reply) == 0 {
			return
		}
		if size, err := Frame(reply); err != nil || size != len(reply) {
			t.Fatalf("% X is not one message: %d, %v", reply, size, err)
		}
		if !bytes.Equal(reply[:4], request[:4]) || reply[6] != request[6] {
			t.Fatalf("% X does not belong to % X", reply, request)
		}
		var refused Exception
		_, err := Decode(request, reply)
		if request[7] < 0x80 && err != nil && !errors.As(err, &refused) {
			t.Fatalf("own reply % X to % X: %v", reply, request, err)
		}
	})
}

func FuzzDecode(f *testing.F) {
	var requests [][]byte
	seeds(f, func(request, reply []byte) {
		if !whole(request) {
			return
		}
		f.Add(len(requests), reply)
		requests = append(requests, request)
	})
	f.Fuzz(func(t *testing.T, which int, reply []byte) {
		request := requests[uint(which)%uint(len(requests))]
		data, err := Decode(request, reply)
		if err == nil && (reply[7] != request[7] || len(data) > PDUMax) {
			t.Fatalf("% X taken for the answer to % X", reply, request)
		}
	})
}

func FuzzDecodeIdentity(f *testing.F) {
	seeds(f, func(_, reply []byte) {
		if len(reply) > HeaderSize+1 {
			f.Add(reply[HeaderSize+1:])
		}
	})
	f.Fuzz(func(t *testing.T, data []byte) {
		found, err := DecodeIdentity(data)
		if err == nil && len(found.Objects) != int(data[5]) {
			t.Fatalf("%d objects of %d", len(found.Objects), data[5])
		}
	})
}

func FuzzFrame(f *testing.F) {
	seeds(f, func(request, reply []byte) { f.Add(append(request, reply...)) })
	f.Fuzz(func(t *testing.T, buffered []byte) {
		size, err := Frame(buffered)
		if size < 0 || size > len(buffered) || size > ADUMax || err != nil && size != 0 {
			t.Fatalf("size %d of %d bytes, %v", size, len(buffered), err)
		}
		if size > 0 && buffered[2]|buffered[3] == 0 && !whole(buffered[:size]) {
			t.Fatalf("% X was cut but is not whole", buffered[:size])
		}
	})
}
