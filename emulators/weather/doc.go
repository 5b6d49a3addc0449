// Package weather emulates the weather mast: an anemometer with a vane that tells
// the wind once a second, unasked, as an NMEA 0183 sentence MWV.
//
// It tells what it feels at that second and averages nothing: mean and gust are
// the business of whoever listens, as there is no standard sentence for them. All
// who are connected hear the same sentence at the same whole seconds. What they
// say to it is thrown away.
//
// Faults are plain fields. A mast whose cable is out is a matter of the link.
package weather
