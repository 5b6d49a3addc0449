package config

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
)

// refused checks that a load was refused for one thing at least, of which the first
// stands at this line of this file and says so.
func refused(t *testing.T, err error, file string, line int, says string) {
	t.Helper()
	if err == nil {
		t.Errorf("accepted; want %s:%d: %s", file, line, says)
		return
	}
	first, _, _ := strings.Cut(err.Error(), "\n")
	place, text, _ := strings.Cut(first, ": ")
	if filepath.Base(place) != fmt.Sprintf("%s:%d", file, line) || !strings.Contains(text, says) {
		t.Errorf("says\n%s\nwant %s:%d and\n%s", first, file, line, says)
	}
}
