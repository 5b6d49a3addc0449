// Package nmea reads and writes sentences of NMEA 0183: what stands between the
// dollar sign and the checksum, the checksum, and of the formatters MWV, wind
// speed and angle.
//
// A receiver finds its sentences in lines and lets everything else go by, as the
// standard's listeners do: noise before the dollar sign, other formatters, empty
// lines. What is cut or changed on the way fails its checksum. Both directions
// are pure functions of bytes.
//
// The form is from memory: NMEA 0183 is sold under licence.
package nmea
