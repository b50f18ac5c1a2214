// Package tally keeps what closed jobs have taught a shop: how often each cause
// turns up here, and how far each check is to be trusted here.
//
// # Problem
//
// The catalogue's priors are judgement, the same for every shop. A shop that
// closes jobs learns its own: but only from repairs that were proven, or it
// learns its own mistakes.
//
// # Model
//
// Priors: the catalogue counts in pseudo-cases (a Dirichlet distribution, 20 cases
// in the starting prior for overheating complaints), so a closed job adds one to
// its cause, and a second cause one to that. Trust: a check errs with some chance
// that its result is as good as random (its blunder share). Each finding of a
// closed job had some probability, given the true cause; the
// blunder share's posterior is worked out on a grid from those, starting from the
// catalogue's share as if it rested on so many findings (TrustRules).
//
// The tally is a list of lines that is only ever added to. Undoing a job adds a
// line; nothing is erased. What it teaches goes out as an overlay sheet, the same
// form in which a shop writes its own knowledge, so that it can be read, edited
// and left away.
//
// A group of shops (Pool): the jobs n_s of shop s are multinomial with shares
// theta_s; theta_s is Dirichlet(kappa phi), phi the group's shares. phi starts from
// the catalogue's shares c as if B jobs had been seen: Dirichlet(1 + B c). For each
// kappa on a grid phi is its posterior mode,
//
//	phi_k ~ B c_k + sum_s kappa phi_k (psi(n_sk + kappa phi_k) - psi(kappa phi_k)),
//
// and the grid is weighed with a log-normal prior of kappa times the
// Dirichlet-multinomial probability of all shops' jobs. A shop's share is the mean of
// (n_sk + kappa phi_k) / (N_s + kappa): a shop with few jobs borrows from the group,
// one with many hardly does, and where shops differ, kappa is small and nobody
// borrows much. Only counts of causes are pooled.
//
// # Assumptions and limits
//
// Only jobs enter whose repaired cause is proven gone. That favours causes that
// can be proven: a slow leak is under-counted against a thermostat. Findings of
// one job are taken as independent given the cause. A finding's probability comes from
// the engines that fit the whole job, itself included, so a blunder is judged a little
// too mildly.
//
// # Sources
//
// Starting counts: cause/causes.yaml ("4.3" there). Dirichlet counts: Spiegelhalter
// and Lauritzen 1990. Pooling: hierarchical Dirichlet-multinomial, Gelman and others,
// "Bayesian Data Analysis", chapter 5; the fixed point: Minka, "Estimating a Dirichlet
// distribution" (2000); both from memory. That only proven cases may count: judgement.
package tally
