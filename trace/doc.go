// Package trace reads logs of a running engine: any delimited text becomes
// signals in SI units on one clock. What happened in the log is the business of
// package trace/events.
//
// # Problem
//
// Every logger writes text of its own kind: other delimiters, encodings, names,
// units and ways to tell the time, many of them spoiled by a spreadsheet on the
// way. [Read] takes any delimited text, plain or gzip, finds out its layout and
// puts what it knows into SI units on one clock, in memory that does not depend
// on the log's length. What the log did not say is supposed, and each
// supposition is written down in [Trace.Assumed]; all can be overruled by
// [ReadOptions.Map]. What cannot be a log of coolant is refused with the reason.
//
// # Assumptions
//
// A reading is whole degrees and lags its coolant by some seconds. Rows come
// between ten and a tenth of a second apart. The engine runs unless engine speed
// says that it does not.
//
// # Where it stops being true
//
// A column without a name and without a likeness to what it measures stays
// unknown. A clock of the form 06.03.20 is taken for a date.
//
// # Sources
//
// Unit factors: SI and NIST, beside each in units.go. What decides units, doubts
// and clocks: doubts.yaml and clocks.yaml, with a source each. Names of columns:
// from memory, names.csv. The logs that the tests read:
// testdata/kit-obd2/ATTRIBUTION.md.
package trace
