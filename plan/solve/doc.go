// Package solve finds the next check or repair with the least expected cost, for
// a troubleshooting problem stated without cars.
//
// # Problem
//
// Something has one of many weighted hypotheses wrong with it, each with up to
// three faults. Checks cost money and tell hypotheses apart. Repairs cost more and
// may cure. Costs depend on the state that the last action left behind. The thing
// may be handed on at a price. A costly repair may need direct proof first. What
// comes next? See [Problem].
//
// # Model
//
// The base policy (base.go) makes no more checks and repairs in order of
// probability of cure over cost. bound.go bounds every plan from below: the faults
// are known for free. search.go looks in rounds, each wider and deeper, so the
// first answer comes at once and better ones follow. A walker (walk.go) follows
// plans from a belief. At each belief it tries the repair of the base policy, the
// checks that tell most per cost (inform.go), the best check that keeps the state,
// and the check that a costly repair waits for. A branch ends as soon as the bound
// shows that it cannot be the cheapest.
//
// Where the walk stops, a belief costs the cheaper of repairs alone and an estimate
// (estimate.go): the bound, plus the entropy of what is open times the price of a
// bit, plus what must still be proven. Hypotheses that show nearly the same are
// merged first (reduce.go). tree.go follows the plan into its outcomes, follow.go
// follows it on sampled cases one by one (a rollout), expect.go sums what that costs over
// all that may come, said.go makes what is said agree with it.
//
// # Assumptions
//
// The run after a repair shows truly whether everything is cured. A check is made
// once. What a pair of faults shows does not change when one is cured. A time limit
// binds the next action, and each action of the tree; what comes later is planned as
// if there were no limit.
//
// # Where it stops being true
//
// Expected costs are estimates where the walk stops: good for ranking, off by tens
// of per cent. Lower and Upper are bounds, far apart while little is known. Merged
// hypotheses make checks that repeat one another look slightly more independent
// than they are.
//
// # Sources
//
// Kadane & Simon 1977, Heckerman, Breese & Rommelse 1995 (probability over cost);
// Pattipati & Alexandridis 1990 (entropy in test sequencing). From memory.
package solve
