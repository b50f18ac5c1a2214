// Package plan finds the next check or repair by its expected cost from now to
// a car that is proven cured.
//
// # Problem
//
// Checks cost minutes, repairs cost more, a wrong big repair most; some need a
// cold engine, some a hot one, some tools that are not at hand; some repairs are so
// dear that they may not rest on odds alone. What comes next?
//
// # Model
//
// problem.go states it without cars: weighted hypotheses with up to three
// faults, checks with outcome probabilities, repairs with probabilities of cure,
// costs by the state of the engine, a price for handing the car on, and for a dear
// repair the outcomes that show its cause directly, without which it may not be
// done. The base policy (base.go) repairs in order of probability of cure over cost.
// bound.go bounds every plan from below: the faults known for nothing.
//
// search.go looks in rounds, each wider and deeper, so that there is an answer at
// once and a better one while somebody waits. A walker (walk.go) follows plans from
// a belief: it tries the repair that the base policy would do, the checks that tell
// most per cost, the best check that leaves the engine as it is, and the check that a
// dear repair waits for; a branch is left as soon as the bound shows that it cannot
// be the cheapest. Where the walk stops, a belief is worth the cheaper of repairs
// alone and of an estimate: the bound, the entropy of what is still open times the
// price of a bit, and what must still be shown. Hypotheses that show nearly the same
// are put together first (reduce.go). tree.go follows the plan into its outcomes.
//
// car.go makes a lineup's sample such a problem, direct.go says which repairs must
// be shown to be needed, waits.go what takes a night, quote.go weighs another shop's
// offer. The numbers are in settings.yaml, direct.yaml and waits.yaml.
//
// # Assumptions
//
// The run after a repair shows truly whether everything is cured. A check is
// made once. What a pair of faults shows does not change when one is cured.
// A reading is cut into four ranges. A time to leave binds the next step only, and
// those of the tree; what comes after is planned as if there were no end.
//
// # Where it stops being true
//
// Expected costs are estimates where the walk stops, good for ranking and off by
// tens of per cent; Lower and Upper are bounds, far apart on a car about which little
// is known. Two repairs in one drain are charged twice. Groups of hypotheses make
// checks that repeat one another look a little more independent than they are.
//
// # Sources
//
// Kadane & Simon 1977, Heckerman, Breese & Rommelse 1995 (probability over
// cost); Pattipati & Alexandridis 1990 (entropy in test sequencing). From memory.
package plan
