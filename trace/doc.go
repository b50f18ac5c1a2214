// Package trace reads logs of a running engine and finds what happened in them:
// the start, the warm-up, the thermostat's opening, the temperature that is
// held, the fan's cycles, climbs, boiling, the soak after shut-off.
//
// # Problem
//
// Every logger writes text of its own kind: other delimiters, encodings, names,
// units and ways to tell the time, many of them spoiled by a spreadsheet on the
// way. [Read] takes any delimited text, plain or gzip, finds out its layout and
// puts what it knows into SI units on one clock, in memory that does not depend
// on the log's length. What the log did not say is supposed, and each
// supposition is written down in [Trace.Assumed]; all can be overruled by
// [Options.Map]. What cannot be a log of coolant is refused with the reason.
//
// # Model
//
// Events are told from the shape of the coolant reading. A thermostat that opens
// lets cold coolant from the radiator into a hot engine: the reading peaks, falls
// by some degrees within a minute or two and then holds. Where there is no peak,
// a bend into a level hold counts if a shut thermostat would have gone on rising.
// That is judged by a heat balance of one mass,
//
//	C dT/dt = share * P_fuel - (UA + UA_v * v) (T - T_air),
//
// with a generic engine's figures (heat.go) and their wide uncertainty. It only
// guards against wrong verdicts on short or cold trips; a car's own numbers are
// the lineup's business. On the ten openings in testdata/kit-obd2 (one compact
// diesel, heat by road speed) the balance gave 0.90 to 1.22 of the heat it
// thought necessary; movingLoss, heaterLoss and loadShare were set within their
// ranges to agree with these.
//
// [Cooldown] fits Newton's law of cooling to a parked engine, with a prior for
// when the log is short.
//
// # Assumptions
//
// A reading is whole degrees and lags its coolant by some seconds. Rows come
// between ten and a tenth of a second apart. The engine runs unless engine speed
// says that it does not.
//
// # Where it stops being true
//
// Thermostats with electric heating hold two or three temperatures and may look
// like an opening that moves. Engines with the sensor in the radiator's hose show
// no warm-up. Rows more than 30 s apart hide the peak. A hybrid's engine stops
// for minutes in mid-drive, which is told as a soak. The thresholds in find.go,
// standing.go and verdict.go are judgement.
//
// # Sources
//
// Unit factors: SI and NIST, beside each in units.go. Heat figures: beside each
// in heat.go. Names of columns: from memory, names.csv. The logs that the tests
// read: testdata/kit-obd2/ATTRIBUTION.md.
package trace
