package web

import (
	"net/http"
	"slices"
	"sort"
	"strconv"
	"strings"

	"weephole/internal/store"
)

// A search looks through every job for every word of it. What is more than a person
// types is left out: judgement.
const (
	mostWords   = 12
	longestWord = 60 // characters
)

// jobsOnPage is how many jobs a page of the list shows: judgement.
const jobsOnPage = 200

// mostNames is in how many causes' names a word may stand and still tell something of the
// cause: judgement. "That" stands in most, "fan" in a few.
const mostNames = 8

// query is which jobs a request asks for.
func (wo *wording) query(r *http.Request) store.Query {
	words := strings.Fields(clip(r.FormValue("q"), mostWords*(longestWord+1)))
	for i := range words {
		words[i] = clip(words[i], longestWord)
	}
	words = words[:min(len(words), mostWords)]
	from, _ := strconv.Atoi(r.FormValue("from")) // anything else is the first page
	return store.Query{Words: strings.Join(words, " "), Closed: wo.byCause(words), Archived: r.FormValue("archived") == "true", From: max(0, from), Limit: jobsOnPage}
}

// byCause are the causes whose plain names have some of the words: a job holds its cause by
// its id. Those with the most of the words come first.
func (wo *wording) byCause(words []string) (list []store.ByCause) {
	names := make([]string, len(wo.model.Causes.Causes))
	for i := range names {
		names[i] = strings.ToLower(wo.model.Causes.Causes[i].Name)
	}
	tells := func(word string) bool {
		n := 0
		for _, name := range names {
			if strings.Contains(name, word) {
				n++
			}
		}
		return n <= mostNames
	}
	var left []int // words, by cause
	for i, name := range names {
		telling, rest := false, []string{}
		for _, w := range words {
			if low := strings.ToLower(w); strings.Contains(name, low) {
				telling = telling || tells(low)
			} else {
				rest = append(rest, w)
			}
		}
		if telling {
			at := sort.SearchInts(left, len(rest)+1) // behind those with as many
			left = slices.Insert(left, at, len(rest))
			list = slices.Insert(list, at, store.ByCause{Cause: wo.model.Causes.Causes[i].ID, Words: strings.Join(rest, " ")})
		}
	}
	return list
}
