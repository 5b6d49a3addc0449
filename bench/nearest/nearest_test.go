package nearest

import "testing"

// The textbook pairs of edit distance (Levenshtein; from memory).
func TestDistance_TextbookPairs(t *testing.T) {
	rows := []struct {
		a, b string
		want int
	}{
		{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"flaw", "lawn", 2},
		{"", "abc", 3}, {"abc", "", 3}, {"same", "same", 0}, {"intention", "execution", 5},
	}
	for _, row := range rows {
		if got := Distance([]byte(row.a), []byte(row.b), letter); got != row.want {
			t.Errorf("%s to %s: %d, want %d", row.a, row.b, got, row.want)
		}
	}
}

func TestName_NearestOfThoseThatAreNear(t *testing.T) {
	known := []string{"azimuth", "elevation", "elevator"}
	for given, want := range map[string]string{
		"azimut": "azimuth", "elevatiom": "elevation", "mast": "",
		"elevater": "elevator", "elevatior": "elevation",
	} {
		if got := Name(given, known, 3); got != want {
			t.Errorf("%s: %q, want %q", given, got, want)
		}
	}
	if got := Name("azimut", known, 1); got != "" {
		t.Errorf("one letter off is not fewer than one: %q", got)
	}
}
