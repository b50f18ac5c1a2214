// Package aftercare turns a job in which a repair was done into the proof of
// that repair, and says in words what the proof shows.
//
// Problem: a job file holds findings and repairs in the order made. The proof
// needs them parted: what was known before the last repair, what was done, and
// what was seen after it.
// Model: the last repairs in a row are the ones to be proven; every finding
// before them weighs the lineup, every finding after them is evidence for or
// against them. A repair that is known to have changed nothing is a finding like
// any other. With no repair in the job yet, the question is which run could
// prove the one that the odds suggest.
// Assumptions: a repair followed by no finding is not proven by its "changed"
// word alone; the word is weighed, and it is weak.
// It stops being true where a repair was done between two jobs: then write it
// down in this one.
// Sources: package proof.
package aftercare
