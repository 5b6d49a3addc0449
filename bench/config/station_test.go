package config

import "testing"

func TestLoad(t *testing.T) {
	for _, n := range []string{"small", "demo", "large"} {
		s, err := LoadStation(n)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range s.Parameters() {
			t.Log(p, p.Where)
		}
	}
}
