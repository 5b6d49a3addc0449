package scenario

// Phrases is the whole phrase table, in the order in which `haltmark phrases`
// prints it. It is the single source of what a sentence may say.
func Phrases() []*Phrase { return table }

// table is made once and never changed.
var table = compiled(givens(), whens(), thens(), weather(), supply())

func compiled(lists ...[]*Phrase) []*Phrase {
	var all []*Phrase
	for _, list := range lists {
		for _, p := range list {
			p.compile()
			all = append(all, p)
		}
	}
	return all
}
