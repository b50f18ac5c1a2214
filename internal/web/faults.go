package web

import (
	"fmt"
	"net/http"

	"weephole/internal/job"
)

// Fault is what is wrong with one field, for a page to say at that field.
type Fault struct {
	Field string `json:"field"` // as it stands in what was sent, such as "read.upper-hose"
	Says  string `json:"says"`
}

// wrongAt is a mistake in one field. name is the field in words: away from the field the
// message begins with it.
func wrongAt(field, name, format string, args ...any) error {
	says := fmt.Sprintf(format, args...)
	return &mistake{status: http.StatusUnprocessableEntity, message: name + ": " + says, fault: &Fault{field, upperFirst(says)}}
}

// faultsOf are the problems of a job file, each with its field. A finding's fields have no
// number of the finding before them.
func faultsOf(ps job.Problems) (list []Fault) {
	for _, p := range ps {
		list = append(list, Fault{ofFinding.ReplaceAllString(p.Path, ""), wrongHere(p)})
	}
	return list
}

// wrongFields are what is wrong with fields of a form, by their names.
type wrongFields map[string]string

// W is what is wrong with a field.
func (w wrongFields) W(name string) string { return w[name] }

// put takes in the faults; it is false where the failure has none.
func (w wrongFields) put(f FailureBody) bool {
	for _, x := range f.Faults {
		w[x.Field] = x.Says
	}
	return len(f.Faults) > 0
}

// Faulty tells that something is wrong with any of them.
func (w wrongFields) Faulty() bool { return len(w) > 0 }
