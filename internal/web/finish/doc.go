// Package finish works out what a job asks of the bench besides its odds: the plan
// as a tree and what-if, the repair's sheet, its proof before and after the run,
// the owner's letter, and what the closed job teaches.
//
// # Problem
//
// A proof runs hundreds of engines and takes seconds. Several people look at the
// same job's proof at once, a page must not wait for it, and it must not be
// worked out twice.
//
// # Model
//
// What is asked is named by the job file as it stands (Subject); the answer is
// worked out once for each file, one at a time, and the last ones are kept in
// memory (once.go). Whoever asks may wait for it or look at what is at hand.
// Everything can be made again from the job, so nothing is written down here.
// The lineups are drawn as weephole proof and weephole letter draw theirs.
//
// # Assumptions
//
// A job is finished by a few people at a time. What has been asked is worth
// finishing: work goes on when the asker has left.
//
// # Where it stops being true
//
// A job that is changed while its proof is worked out is worked out again from
// the beginning.
//
// Sources: none of its own; see packages aftercare, sheetwork, letter and tally.
package finish
