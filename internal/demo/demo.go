// Package demo holds the jobs of the demonstration: invented cars in an
// invented shop, each from complaint to closing.
//
// Problem: a newcomer wants to see whole jobs worked, and has no car at hand.
// Model: each job stands in two files. The first (1-hill.yaml) is the job as it
// stood when the repair was chosen; the second (1-hill.rest) goes on in the same
// text, as a mechanic would: the repair, what was seen after it, the closing.
//
// They show several causes. One is hot on hills, under a wrong quote. One runs cold after
// the part was changed for nothing, and one loses coolant with two faults. In one the
// costly quote is right, and in one only the needle is ill. The last one's log is a real
// trip; the other logs are simulated (jobs/ATTRIBUTION.md says how). What the checks
// found, before and after, is invented with the stories.
//
// Assumptions: no log or finding here says anything about real cars. It stops
// being true where one takes the demonstration for evidence that the program
// works: that is measured elsewhere (docs/calibration.md, docs/proof.md).
// Sources: jobs/ATTRIBUTION.md.
package demo

import (
	"embed"
	"io"
	"io/fs"
	"sort"
	"strings"
)

//go:embed jobs
var jobs embed.FS

// Names lists the job files, in the order in which they are told.
func Names() []string {
	entries, err := fs.Glob(jobs, "jobs/*.yaml")
	if err != nil {
		return nil // the pattern is a constant and well formed
	}
	sort.Strings(entries)
	for i := range entries {
		entries[i] = entries[i][len("jobs/"):]
	}
	return entries
}

// Open opens a job file or a log that a job names.
func Open(name string) (io.ReadCloser, error) { return jobs.Open("jobs/" + name) }

// Bytes is a job file or a log, whole.
func Bytes(name string) ([]byte, error) { return jobs.ReadFile("jobs/" + name) }

// Whole is a job from complaint to closing: the job file and what was written
// on behind it.
func Whole(name string) ([]byte, error) {
	first, err := Bytes(name)
	if err != nil {
		return nil, err
	}
	rest, err := Bytes(strings.TrimSuffix(name, ".yaml") + ".rest")
	if err != nil {
		return nil, err
	}
	return append(first, rest...), nil
}

// Name is what a job file's job is called: "3-thirsty.yaml" is "thirsty".
func Name(file string) string {
	_, name, _ := strings.Cut(strings.TrimSuffix(file, ".yaml"), "-")
	return name
}

// Logs lists the logs that a job file names: those whose name begins with the
// job's.
func Logs(file string) []string {
	found, err := fs.Glob(jobs, "jobs/"+Name(file)+"-*.csv.gz")
	if err != nil {
		return nil // the names are our own and hold no pattern
	}
	for i := range found {
		found[i] = strings.TrimPrefix(found[i], "jobs/")
	}
	return found
}

// Named is the job file with this name, in a list of one; empty where there is none.
func Named(name string) []string {
	for _, file := range Names() {
		if Name(file) == name {
			return []string{file}
		}
	}
	return nil
}
