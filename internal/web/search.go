package web

import (
	"net/http"
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

// queryOf is which jobs a request asks for.
func queryOf(r *http.Request) store.Query {
	words := strings.Fields(clip(r.FormValue("q"), mostWords*(longestWord+1)))
	for i := range words {
		words[i] = clip(words[i], longestWord)
	}
	from, _ := strconv.Atoi(r.FormValue("from")) // anything else is the first page
	return store.Query{Words: strings.Join(words[:min(len(words), mostWords)], " "), Archived: r.FormValue("archived") == "true", From: max(0, from), Limit: jobsOnPage}
}
