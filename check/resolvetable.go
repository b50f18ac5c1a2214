package check

import (
	"math"

	"weephole/cause"
	"weephole/sheet"
)

// table resolves rows against the words.
func (r *resolver) table(at sheet.At, rows []Row, words []string, whole bool) table {
	t := table{rowsOf: make([][]int16, len(r.causes.Causes))}
	found := false
	for i := range rows {
		row := &rows[i]
		if len(row.Otherwise) == 0 {
			continue
		}
		if found || len(row.Cause)+len(row.Shows)+len(row.Site)+len(row.States) > 0 {
			r.bad(row.At, "otherwise", "one row may say otherwise, and it says nothing else")
		}
		found = true
		mild, _ := r.spread(row.At, row.Otherwise, words, nil)
		t.otherwise = mild
	}
	if whole && !found {
		r.bad(at, "shows", "the row \"otherwise\" (a healthy engine) is missing")
	}
	var rest []float64
	if found {
		rest = t.otherwise[:len(words)]
	}
	for i := range rows {
		row := &rows[i]
		if len(row.Otherwise) > 0 {
			continue
		}
		if len(row.Cause) == 0 {
			r.bad(row.At, "cause", "name the cause that this row is for, or write \"otherwise\"")
		}
		mild, severe := r.spread(row.At, row.Shows, words, rest)
		for _, id := range row.Cause {
			index, f, ok := r.fit(row.At, id, row.Site, row.States)
			if !ok {
				continue
			}
			out := tableRow{fit: f, mild: mild}
			for w := range words {
				out.slope[w] = severe[w] - mild[w]
			}
			t.rowsOf[index] = append(t.rowsOf[index], int16(len(t.rows)))
			t.rows = append(t.rows, out)
		}
	}
	return t
}

// spread gives each word its probability at severity 0 and 1. What the named
// words leave goes to the others, in the proportions of rest (even if nil).
func (r *resolver) spread(at sheet.At, pairs sheet.Pairs, words []string, rest []float64) (mild, severe [maxWords]float64) {
	var named [maxWords]bool
	sumMild, sumSevere := 0.0, 0.0
	for _, p := range pairs {
		w := r.word(p.At, p.Key, p.Key, words)
		if w < 0 {
			continue
		}
		named[w] = true
		switch len(p.Value) {
		case 1:
			mild[w], severe[w] = p.Value[0], p.Value[0]
		case 2:
			mild[w], severe[w] = p.Value[0], p.Value[1]
		default:
			r.bad(p.At, p.Key, "found %d numbers; write one, or [mild, severe]", len(p.Value))
		}
		r.share(p.At, p.Key, mild[w])
		r.share(p.At, p.Key, severe[w])
		sumMild += mild[w]
		sumSevere += severe[w]
	}
	if len(pairs) == 0 {
		r.bad(at, "shows", "name at least one word and its probability")
	}
	others, total := 0, 0.0
	for w := range words {
		if !named[w] {
			others++
			if rest != nil {
				total += rest[w]
			}
		}
	}
	for _, sum := range []float64{sumMild, sumSevere} {
		if sum > 1+sumSlack || (others == 0 && sum < 1-sumSlack) {
			r.bad(at, "", "the probabilities sum to %.3g; they must sum to 1", sum)
			return mild, severe
		}
	}
	for w := range words {
		if named[w] {
			continue
		}
		share := 1 / float64(others)
		if rest != nil && total > 0 {
			share = rest[w] / total
		}
		mild[w] = share * math.Max(0, 1-sumMild)
		severe[w] = share * math.Max(0, 1-sumSevere)
	}
	return mild, severe
}

// fit resolves what a row asks of a cause.
func (r *resolver) fit(at sheet.At, id string, sites sheet.Words, states sheet.RestWords) (int, fit, bool) {
	f := fit{sites: math.MaxUint64}
	for h := range f.states {
		f.states[h] = -1
	}
	k := r.causes.Cause(id)
	if k == nil {
		r.bad(at, "cause", "no cause is called \"%s\"%s", id, sheet.Instead(id, causeIDs(r.causes)))
		return 0, f, false
	}
	if len(sites) > 0 {
		f.sites = 0
		for _, site := range sites {
			if s := k.SiteIndex(site); s != cause.NoSite {
				f.sites |= 1 << uint(s)
				continue
			}
			var right []string
			for i := range k.Sites {
				right = append(right, k.Sites[i].ID)
			}
			r.bad(at, "site", "%s has no site \"%s\"%s", id, site, sheet.Instead(site, right))
		}
	}
	for _, w := range states {
		h := k.HiddenIndex(w.Key)
		if h < 0 {
			right := []string{"cause", "site", "shows", "source"}
			for i := range k.Hidden {
				right = append(right, k.Hidden[i].Name)
			}
			r.bad(w.At, w.Key, "unknown key, and %s has no such hidden state%s", id, sheet.Instead(w.Key, right))
			continue
		}
		var right []string
		for i := range k.Hidden[h].States {
			right = append(right, k.Hidden[h].States[i].Is)
		}
		f.states[h] = r.word(w.At, w.Key, w.Word, right)
	}
	return k.Index(), f, true
}
