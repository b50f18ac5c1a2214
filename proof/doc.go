// Package proof says which run of the engine can prove a repair, and judges the
// run and what else was seen after it.
//
// # Problem
//
// A repair is proven when what is seen after it would have looked different had
// it failed. A dead fan never shows at 100 km/h, so a fine drive on the motorway
// proves nothing about it. And a repair may fail in other ways than leaving the
// fault: it may leave air in the system, or the fault repaired was not the only one.
//
// # Model
//
// The engines that a lineup holds before the repair are taken through it in every way it
// may come out. The cause is gone and all is well (Good), or it is there as before or in
// part (Still). Something was left behind (Left), another fault was there all along
// (Another), or there is something unnamed. A second fault that has nothing to do with
// the complaint (Beside) does not count against the repair (beside.go). Each is run along
// the log with the circuit's equations, or shown to the check that was made, and weighed
// by how probable it makes what was seen.
//
// The verdict is a likelihood ratio held against two bounds. For any two hypotheses the
// ratio of the probabilities of what was seen so far exceeds A, at whatever moment one
// looks and stops, with probability at most 1/A if the other hypothesis is right (Ville
// 1939; Wald 1945 uses the same bounds in his sequential test). So "proven" at 50 means
// that of a hundred repairs that are not right at most two pass, on the average over the
// ways in which they fail. "Not proven" at 1/20 means that of a hundred good ones at most
// five are denied. One may watch the verdict while the run goes on. Between the bounds:
// this run could not tell. The hypothesis against which a good repair has to win is a
// sceptic's: half of all repairs botched, in every way that is possible on this car. The
// odds that are given besides the verdict start from the catalogue's shares.
//
// Because the whole takes evidence of everything, two narrower claims are judged
// beside it: that the cause is gone to any extent that would have shown, and that
// no other fault is there that would have shown. What would have shown is worked
// out from the runs and checks made, not from what they showed; what would not is
// listed by name. The owner's word is weighed by what he would feel.
//
// How a log's residuals are weighed stands in likelihood.go. Beforehand, each run
// is judged by trials: engines that are well and engines that are not are run,
// their log is given the errors of real ones, and one counts how often the run
// would have settled the matter. Beyond that run the looks, and one more run, are asked
// for by how much they are expected to raise the odds on a good car (checks.go, further.go).
//
// # Assumptions
//
// The log is of this car, in the air it says, with air conditioning on throughout
// or not at all. A repair that opens the system ends with it full. What makes no
// difference that anybody could meet (noticeable.go) is no fault.
//
// # Where it stops being true
//
// The bounds hold as far as the model does. A fault that shows in no temperature
// (a slow drip, a weak cap below boiling, a gauge) cannot be excluded by any run:
// Design then asks for the check that shows it, and without it the whole is not
// called proven, however well the engine ran. Whether a part will last is not known.
//
// # Sources
//
// Ville, Étude critique de la notion de collectif, 1939; Wald, Annals of
// Mathematical Statistics 16 (1945) 117; settings.yaml for every number, most of
// them judgement. Measured rates stand in docs/proof.md.
package proof
