package main

import "time"

// This file alone reads the time of day: for host.json, for the name of the run
// folder and for the date against which waivers expire. No verdict hangs on it
// but by that date.

// today is the day of an instant, in UTC.
func today() string { return now().UTC().Format(time.DateOnly) }

// now is the time of day.
func now() time.Time { return time.Now() }
