// Package circuit is a model of an engine's cooling circuit and its
// integration in time. It knows nothing of causes: a cause acts by changing
// the numbers of a [Circuit].
//
// # Problem
//
// One engine's numbers are given: how much metal and coolant it has, and how its pump,
// thermostat, radiator, fan, heater, cap and sensor behave. So is how it is run. Say what
// a mechanic would read: temperatures in the coolant and on the hoses, the fan's duty,
// flows, pressure, coolant lost. Tens of thousands of times while somebody waits.
//
// # Model
//
// Nine temperatures are integrated: near metal, slow metal with oil, jacket
// coolant, three radiator cells, thermostat wax, sensor, fan clutch. Flows
// follow from an algebraic network, the core's heat from the effectiveness of
// a cross-flow exchanger, pressure from the gas cushion, vapour and cap.
// docs/model.md gives the equations with their sources. A [Table] holds every
// number of a car with its range and source; [Table.Draw] makes a plausible
// car of it. [Solver] runs one through any schedule, [Drill] through the
// standard situations.
//
// # Assumptions, and where they stop being true
//
//   - The jacket is one well-mixed volume: no hot spots, no delay round the
//     circuit. Hunting of a slow thermostat comes out too strong for it.
//   - Fuel is worked out for a petrol engine's friction and a fixed
//     incremental efficiency. A first half minute of rich running is not in it.
//   - The slow metal is a store of heat fitted to warm-ups. On a long climb its
//     temperature passes what oil would show; do not read it as oil.
//   - Gas in the pump, dry sensor pockets, heaters and leaks under pressure
//     follow judged rules, for nothing measured on cars was found.
//   - A healthy valve can rest anywhere within its hysteresis, so steady
//     temperatures under the thermostat's rule are uncertain by as much.
//   - Coolant properties are taken at 90 degC throughout.
//
// # Sources
//
// Named row by row in numbers.yaml and equation by equation in docs/model.md:
// FASTSim (NREL), CO2MPAS (JRC), logs of a 1.5 L car (carOBD), textbooks on heat
// exchangers, and, where it says so, judgement.
package circuit
