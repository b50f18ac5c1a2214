// Package sheetwork makes the repair sheet: what a repair takes on this car, in
// which order, with the quantities worked out for it, and the record of the
// coolant that came out.
//
// Problem: the catalogue knows how a repair is done on any car; the mechanic
// wants to know what drains from this one, what to fill in for the coldest night
// here, how far it then is from boiling at this altitude, and what he must look
// up before he begins.
// Model: steps.yaml holds the order of work, what to look at while it is open and
// what only the maker's data can tell; package coolant does the arithmetic;
// circuit's table gives what is usual where the job does not say.
// Assumptions: drained coolant has the system's strength, what is filled in mixes
// wholly by the time of the next drain, and the cap holds what is stamped on it.
// It stops being true where the maker's data say otherwise. They are asked for by
// name, kept in the job, and never guessed: a torque is not a matter of odds.
// Sources: beside each number in steps.yaml; packages cause and coolant.
package sheetwork
