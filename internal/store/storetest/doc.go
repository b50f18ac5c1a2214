// Package storetest is the suite that every storage engine must pass.
//
// Problem: a shop that outgrows one engine must find the next one keeping the
// same promises. Model: [Run] is handed a way to make an empty store and holds
// it to each sentence of the interface's comments, as a subtest named by the
// sentence. Assumptions: a fresh store for each subtest; the clock is the one
// that Run hands over. Where it stops being true: durability against a killed
// process or a failing power supply cannot be seen from inside a process; each
// engine tests that for itself. Sources: none but the interface.
package storetest
