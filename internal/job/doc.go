// Package job is the job: its file format and its rules.
//
// Problem: what a mechanic knows of a car is a heap of uneven facts: some with
// numbers, some with words, most missing. It must be typed in by a tired
// person and come out exact, or come back with a sentence that says which line
// to change and to what.
//
// Model: a job file is YAML or JSON. Both become one tree of texts with their
// places (source*.go); one table of rows (rows.go) says which keys there are
// and how each is read, written, described in JSON Schema and in the docs.
// Words that belong to catalogues come in a [Vocabulary]. [Read] reports all
// problems it finds, not the first. Every value keeps its line ([Job.Where]),
// so that a later layer can point at it too.
//
// Assumptions: a quantity carries its unit in the text; "unknown" is always a
// possible answer, and a missing key is the same as "unknown"; bounds of what
// is possible are wide and are judgement.
//
// Where it stops being true: a file that this package accepts can still hold
// findings that contradict each other. That is no mistake of form, and the
// odds, not this package, say how well they fit.
//
// Sources: YAML 1.2 as read by github.com/goccy/go-yaml, without references,
// tags and several documents; JSON by RFC 8259; JSON Schema draft 2020-12. The
// format itself is the project's own and stands in docs/job-file.md.
package job
