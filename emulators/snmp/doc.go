// Package snmp speaks SNMP version 2c, as agent and as manager.
//
// Bytes become meaning, and meaning bytes, through the codec of gosnmp; request
// identifiers, retries and sockets are the caller's. What the codec is too
// lenient about is checked before it sees a datagram, and what it writes wrongly
// (a negative request identifier) is put right after.
//
// Agent answers datagrams from a sorted tree of objects by the rules of RFC 3416.
// Poll is a manager's prepared question. Both keep their last exchange encoded
// and touch only what changed in it: a steady poll costs two comparisons of bytes.
// Notifications are SNMPv2 traps; a received inform can be answered.
//
// A message is a header and a PDU. The codec writes and reads PDUs alone, and only
// header.go and Agent.rights know what a version of SNMP puts around them: version 3
// finds its place there.
//
// Nothing here is safe for use by several goroutines at once.
package snmp
