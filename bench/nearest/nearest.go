package nearest

// Distance is the cost of turning a into b (Levenshtein 1966): 1 for each element that is
// inserted or removed, and what change says for one that becomes another.
func Distance[T any](a, b []T, change func(from, to T) int) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		diagonal := row[0]
		row[0] = i + 1
		for j := range b {
			least := min(row[j]+1, row[j+1]+1, diagonal+change(a[i], b[j]))
			diagonal, row[j+1] = row[j+1], least
		}
	}
	return row[len(b)]
}

// Name is the first of the known names that differs least from the one given, and by fewer
// than so many letters; "" where there is none.
func Name(given string, known []string, fewer int) string {
	best := ""
	for _, name := range known {
		if d := Distance([]byte(given), []byte(name), letter); d < fewer {
			best, fewer = name, d
		}
	}
	return best
}

func letter(from, to byte) int {
	if from == to {
		return 0
	}
	return 1
}
