// Package cia402 owns the state table of a motor drive as CiA 402 and
// IEC 61800-7-201 describe it: the eight states, the statusword that tells them,
// the controlword commands told apart by mask, the transitions 0 to 16, the
// option codes and the error codes.
//
// A drive and a controller that commands it read the same table, so the package
// knows no motor, no clock and no wire. Its figures come from a general CANopen
// library and from sample headers that cite the standard: a secondary source, the
// standard itself is sold under licence. testdata/SOURCES.md tells which is which.
package cia402
