// Package modbus turns Modbus TCP bytes into meaning and back, for both ends
// of the wire, without owning a socket, a clock or a device.
//
// It owns the MBAP header and its framing rule, the protocol data units of
// functions 1 to 6, 15, 16, 22, 23 and 43/14, the order in which a server
// checks a request, and the exception codes. A Server answers whole messages
// over one Bank per unit identifier; the Append functions encode requests and
// Decode checks a reply against its request. Clauses and pages in comments are
// those of the Modbus Application Protocol V1.1b3 (AP) and of the Messaging on
// TCP/IP Implementation Guide V1.0b (TCP); where those leave a choice open the
// comment says "bench rule". No function here allocates once the caller's
// buffers have grown, and no bytes from a peer make one panic.
package modbus
