// Command weephole finds out why an engine runs hot, cold or dry.
//
// Problem: the commonest costly mistake in a workshop is replacing what was
// not broken. Each subcommand answers one question about one vehicle's visit
// from a job file, a log, or a few numbers.
// Model: this package only wires. It reads flags and files, calls the library
// packages, and prints; what is known about engines stands in those packages.
// Assumptions: the answer goes to the standard output and everything else to
// the error output; the status is one of package exit's three.
// It stops being the right place as soon as a line here computes something
// about a vehicle.
// Source: the help texts ("weephole help") are the manual; docs/ is the rest.
package main
