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

func TestOthers(t *testing.T) {
	c, err := LoadController("standin")
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", c.Profile)
	q, err := LoadRequirements()
	if err != nil {
		t.Fatal(err)
	}
	s, err := LoadStation("demo")
	if err != nil {
		t.Fatal(err)
	}
	if err := q.Against(s); err != nil {
		t.Fatal(err)
	}
}
