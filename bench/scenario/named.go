package scenario

import "haltmark/bench/station"

// named sentences begin any fault of the catalogue by its name, for what no sentence of
// its own says. They mark no stop cause: what they are about is for the reader to know.
func named() []*Phrase {
	stands := func(w *World, is Words) error { return w.latent(is.Fault, is.Target, is.Settings...) }
	begins := func(w *World, is Words) error {
		return w.begins(is.Fault, namedFault{name: is.Fault, target: is.Target, parameters: is.Settings})
	}
	return []*Phrase{
		given("the fault {fault} is present on {target}", "any of `haltmark faults`, as it is by default",
			stands).needs(inCatalogue),
		given("the fault {fault} is present on {target}, with {settings}", "the same, with parameters",
			stands).needs(inCatalogue),
		on("the fault {fault} begins on {target}", "any of `haltmark faults`, as it is by default",
			begins).needs(inCatalogue),
		on("the fault {fault} begins on {target}, with {settings}", "the same, with parameters",
			begins).needs(inCatalogue),
	}
}

// inCatalogue holds a phrase to the faults, targets and parameters that there are.
func inCatalogue(is Words) error {
	given, err := settings(is.Settings)
	if err != nil {
		return err
	}
	f, err := station.Faults().New(is.Fault, is.Target, given)
	if err != nil {
		return err
	}
	return f.Idle()
}
