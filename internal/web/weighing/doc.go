// Package weighing keeps each job's lineup warm, so that a finding is answered
// while the thumb is still on the glass.
//
// # Problem
//
// Drawing and running a lineup takes seconds; a mechanic who has typed a
// reading waits for none. Several people work on several jobs at once on one
// small machine, findings are corrected and struck out, and the machine may be
// switched off at any time.
//
// # Model
//
// Two lineups answer a job. The coarse one is small, is drawn once for the car
// and the complaint, run through the whole drill and kept; a finding then costs
// no run at all, only a weighing (lineup.Extend), and striking the last finding
// out goes back one link of the chain. A repair, a log, or other air than the
// shop's starts the chain anew. The fine one is larger and is resampled and
// moved; it is drawn when the job has been left alone for a moment, and given
// up when a new finding comes. Each answer says how far in the journal it looks
// (Seq) and its stage.
//
// Heavy work is done one job at a time, so that weighing what is warm always
// finds a core. Chains of jobs not looked at for longest are dropped: they can
// be drawn again.
//
// # Assumptions
//
// Most findings are made in the shop's own conditions. The coarse lineup's
// figures are rough, and say so by the number they are out of (answer.Odds.Of).
//
// # Where it stops being true
//
// The first answer of a job after a restart waits for the lineup to be drawn.
// So does one after a repair or a log.
//
// Sources: none of its own; the sizes are judgement from timings on two cores
// (docs/bench.md).
package weighing
