// Package margin says how much cooling an engine has left: the highest outside
// air in which it can be driven in a given way, and whether it gets through a trip.
//
// # Problem
//
// A steady needle hides a failing system until its reserve is used up. How far is
// this car from its limit, idling, in town, on the motorway, on a long climb or
// with a trailer? And will it get home today?
//
// # Model
//
// A [Duty] is a way of driving: speed, grade, engine speed, trailer, wind, air
// conditioning, and how much warmer the air at the grille is than the weather's.
// duties.yaml holds them with their sources. [Holder.Hold] drives a circuit in that
// way until it no longer changes. The limit is where the coolant boils under the
// pressure that this cap holds, with this mix, at this altitude ([BoilingC]), or a
// temperature of the metal, whichever comes first. [Holder.Highest] looks for the
// air at which the limit is just met, by false position on held runs. [Of] does so
// for a systematic sample of a weighed lineup: as the engine is, with the faults
// that a repair cures taken away, and with nothing wrong.
// [Drive] takes the same engines along a trip, leaks and boiling included.
//
// Terms of SAE J1393 (2023, which replaced J819), from a public summary of it: limiting
// ambient temperature is the limit less the coolant at the engine's outlet plus the
// ambient air. Air-to-boil is the same with 100 degC as the limit. Both count one kelvin
// of coolant for one of air. [Held] gives both.
//
// # Assumptions, and where they stop being true
//
//   - One for one holds with the thermostat fully open and the fan at full speed.
//     Below that the thermostat holds the coolant up, and the two terms give less
//     air than the engine can stand. A viscous fan that is still engaging, bay air
//     round the grille and cold oil bend the line as well.
//   - A held duty keeps the coolant that is there: a leak lowers the pressure that
//     is held, not the level. A long drive with a leak is a matter for Drive.
//   - Held runs have no end. A real hill may be over before the oil is hot.
//   - Whether the engine has the power for the duty is not looked at.
//   - The metal is one mean temperature: its limit stands for a much hotter bridge
//     between the valves.
//   - Wind acts at the speed of the first moving leg of a duty.
//   - A cause that the catalogue does not name has no engine in the sample. Its
//     probability is given beside the ranges.
//   - The ranges are those of the model. How often they hold on cars that the model
//     did not make is told in docs/margin.md.
//
// # Sources
//
// Duty by duty in duties.yaml. False position with the Illinois rule: Dowell and
// Jarratt, BIT 11 (1971), from memory. Systematic samples: package sample.
package margin
