package storetest

import "weephole/internal/store"

// OldVerdicts are verdicts as programs up to schema 5 kept them, one line for people
// and what to do next in a second, and what a list must make of each today.
var OldVerdicts = []struct {
	Line string
	Want store.Verdict
}{
	{"", store.Verdict{}},
	{"First, rough count", store.Verdict{State: store.VerdictRough}},
	{"dead electric fan: 57 %\ngive the fan 12 V: it's 100 % sure", store.Verdict{State: store.VerdictSettled, Name: "dead electric fan", Percent: "57 %", Next: "give the fan 12 V: it's 100 % sure"}},
	{"worn pump: over 99 %", store.Verdict{State: store.VerdictSettled, Name: "worn pump", Percent: "over 99 %"}},
	{"replace the cap, flush the circuit: done\nsee whether it holds", store.Verdict{State: store.VerdictRepaired, Repairs: []string{"replace the cap, flush the circuit"}}},
	{"cannot be worked out: the log “a.csv”: line 3", store.Verdict{State: store.VerdictProblem, Says: "the log “a.csv”: line 3"}},
	{"No known cause, alone or in pairs, explains all of these findings.\nlook again: the level", store.Verdict{State: store.VerdictNothingFits,
		Says: "No known cause, alone or in pairs, explains all of these findings.", Next: "look again: the level"}},
}
