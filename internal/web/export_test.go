package web

import (
	"strings"

	"weephole/internal/answer"
	"weephole/internal/store"
	"weephole/internal/web/answers"
)

// NextPart is the part of a job's page that says what to do now.
func NextPart(next *answer.NextFacts) (string, error) {
	var b strings.Builder
	v := &jobView{ID: "a", Currency: "$", Answer: &answers.Answer{Next: next}, Step: &stepView{Step: next.Steps[0]}}
	err := templates.ExecuteTemplate(&b, "part-next", v)
	return b.String(), err
}

// WithoutPlace is withoutPlace, for fuzzing.
var WithoutPlace = withoutPlace

// Cell is a text as a table for a spreadsheet has it.
func Cell(text string) string { return cell(text) }

// ListRow is a job in the list of jobs.
func ListRow(v store.Verdict) (string, error) {
	return ListRowOf(store.Summary{ID: "a", Car: "blue estate", Verdict: v})
}

// ListRowOf is any job there.
func ListRowOf(j store.Summary) (string, error) {
	var b strings.Builder
	err := templates.ExecuteTemplate(&b, "joblist-items", jobListPage{Jobs: []jobRow{rowOf(j)}})
	return b.String(), err
}

// Ago is an age in words.
var Ago = ago
