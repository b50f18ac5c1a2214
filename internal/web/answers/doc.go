// Package answers works out the answers that the bench asks for, and keeps them.
//
// # Problem
//
// Drawing and running a lineup takes seconds, and so does a proof; a mechanic who
// has typed a reading waits for neither. Several people work on several jobs at
// once on one small machine, findings are corrected and struck out, and the
// machine may be switched off at any time.
//
// # Model
//
// Live keeps each job's lineup warm, and answers after every entry with the odds and the
// next step. Two lineups answer a job. The coarse one is small. It is drawn once for the
// car and the complaint, run through the whole drill and kept. A finding then costs no
// run at all, only a reweighting (lineup.Extend). Striking the last finding out goes back
// one link of the chain. A repair, a log, or other air than the shop's starts the chain
// again. The fine one is larger and is resampled and moved; it is drawn when the job has
// been left alone for a moment, and given up when a new finding comes. Each answer says
// how far in the journal it looks (Seq) and its stage.
//
// Cache works out what is asked only now and then: the plan as a tree with its
// what-if, the proof, the letter, and the tally's entry. Each is named by the job
// file as it stands, is worked out once for all who ask, one at a time, and the
// last ones are kept. Whoever asks may wait or look at what is at hand. A newer entry
// stops the work for older ones that nobody waits for.
//
// Both rest on the same engines (Drawn), so that odds, margin, plan, proof and letter of
// one state say the same numbers. The engines of the job as it stood before its repair
// are drawn once, whatever is found afterwards.
//
// Everything can be made again from the job, so nothing is written down here. The
// package asks package work, and knows no sentence of what is answered.
//
// # Assumptions
//
// Most findings are made in the shop's own conditions. What has been asked is worth
// finishing: work on it goes on when the asker has left.
//
// # Where it stops being true
//
// The first answer of a job after a restart waits for the lineup to be drawn. So
// does one after a repair or a log. A job that is changed while its proof is worked
// out is worked out again from the beginning.
//
// Sources: none of its own; the sizes are judgement from timings on two cores
// (docs/bench.md).
package answers
