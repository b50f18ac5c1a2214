package trace

import (
	"strings"
	"sync"
)

// vocabulary are the words that names of columns are made of, for slips of
// spelling: those of four letters and more in names.csv that are no stems of
// longer compounds, and a few that only appear there as stems.
var vocabulary = sync.OnceValue(func() []string {
	seen := map[string]bool{}
	var all []string
	put := func(w string) {
		if len(w) >= 4 && !seen[w] {
			seen[w] = true
			all = append(all, w)
		}
	}
	for _, w := range []string{"temperature", "coolant", "engine", "vehicle", "pressure", "position", "absolute", "cleared", "calculated"} {
		put(w)
	}
	for line := range strings.Lines(namesCSV) {
		f := strings.SplitN(strings.TrimSpace(line), ",", 3)
		if len(f) == 3 && f[1] == "en" {
			for _, w := range strings.Fields(f[2]) {
				put(strings.TrimPrefix(w, "="))
			}
		}
	}
	return all
})

// respell corrects slips of spelling in a name: each word of it that is none of
// the vocabulary's and one slip away from some of them. It returns every name
// that this could be, at most a few.
func respell(name string) []string {
	words := strings.Fields(foldName(name))
	if len(words) == 0 || len(words) > 12 {
		return nil
	}
	names := []string{""}
	changed := false
	for _, w := range words {
		options := []string{w}
		if len(w) >= 3 && len(w) <= 24 {
			if near := neighbours(w); len(near) > 0 {
				options, changed = near, true
			}
		}
		var next []string
		for _, n := range names {
			for _, o := range options {
				if len(next) < 8 {
					next = append(next, strings.TrimSpace(n+" "+o))
				}
			}
		}
		names = next
	}
	if !changed {
		return nil
	}
	return names
}

// neighbours are the words of the vocabulary one slip away from w; none if w is
// itself one of them.
func neighbours(w string) (near []string) {
	for _, v := range vocabulary() {
		if v == w {
			return nil
		}
		if oneSlip(w, v) {
			near = append(near, v)
		}
	}
	return near
}

// oneSlip tells whether two words differ by one letter left out, put in,
// replaced, or two neighbours swapped.
func oneSlip(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 || a == b {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) < len(b) {
		return a[i:] == b[i+1:]
	}
	if i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:] {
		return true
	}
	return a[i+1:] == b[i+1:]
}

// meaningOf is meaning with slips of spelling mended where the name as written
// says nothing; mended is "" if it was not needed.
func meaningOf(name string) (word string, score int, mended string) {
	if word, score = meaning(name); word != "" {
		return word, score, ""
	}
	for _, again := range respell(name) {
		if w, n := meaning(again); w != "" && n > score {
			word, score, mended = w, n, again
		}
	}
	return word, max(score-2, 0), mended
}
