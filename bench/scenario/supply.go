package scenario

import (
	"time"

	"haltmark/bench/plant"
	"haltmark/bench/record"
)

// dipTo is how low the supply goes in a dip: nothing is left of it.
const dipTo = "0 %"

// supply sentences are of the electric supply, of the drives or of the whole station.
func supply() []*Phrase {
	return []*Phrase{
		on("the supply of the drives is lost", "interlock unit and brakes keep theirs",
			lose("mains_lost")),
		on("the whole supply is lost", "that of drives, brakes and the interlock unit",
			lose("supply_lost")),
		on("the supply of the drives is interrupted for {span}", "interlock unit and brakes keep theirs",
			func(w *World, is Words) error {
				away := []string{"to", dipTo, "length", is.Span.String()}
				return w.causeByFault("supply_dip", "supply_dip", "station", "", away)
			}).needs(lasts),
		on("the supply returns", "what had been lost is there again", supplyReturns),
	}
}

// lose has a supply go; the world remembers it for its return.
func lose(name string) action {
	return func(w *World, _ Words) error {
		f, err := w.fault(name, "station")
		if err != nil {
			return err
		}
		return w.cause("supply_lost", "", name, func(now time.Duration) {
			w.lost = append(w.lost, w.strike(f, now, 0))
		})
	}
}

func supplyReturns(w *World, _ Words) error {
	for a := range plant.Axis(plant.MainAxes) {
		if err := w.awaitRest(a); err != nil {
			return err
		}
	}
	w.actedAt = w.now()
	return w.act(record.Release, "supply", func(time.Duration) {
		for _, id := range w.lost {
			w.station.Remove(id)
		}
		w.lost = nil
	})
}
