// Package events tells what happened in a log of an engine: the start, the
// warm-up, the thermostat's opening, the temperature that is held, the fan's
// cycles, climbs, boiling, the soak after shut-off.
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
// with a generic engine's figures (heat.go) and their wide uncertainty. It only guards
// against wrong verdicts on short or cold trips; a car's own numbers are the lineup's
// business. On the ten openings in testdata/kit-obd2 (one compact diesel, heat by road
// speed) the balance gave 0.90 to 1.22 of the heat it thought necessary. movingLoss,
// heaterLoss and loadShare were set within their ranges to agree with these.
//
// [Cooldown] fits Newton's law of cooling to a parked engine, with a prior for
// when the log is short.
//
// # Assumptions
//
// The reading is coolant at the engine's outlet, and the reader of the log got
// its columns and units right. Rows come at most some seconds apart.
//
// # Where it stops being true
//
// Thermostats with electric heating hold two or three temperatures and may look
// like an opening that moves. Engines with the sensor in the radiator's hose show
// no warm-up. Rows more than 30 s apart hide the peak. A hybrid's engine stops
// for minutes in mid-drive, which is told as a soak. The thresholds in
// limits.yaml are judgement.
//
// # Sources
//
// Heat figures: beside each in heat.go. The logs that the tests read:
// trace/testdata/kit-obd2/ATTRIBUTION.md.
package events
