// Package stranger is a second world: cars, owners and mechanics made from other
// equations and other numbers than those the program believes in.
//
// # Problem
//
// A program that is tested on its own simulator is right about its own beliefs.
// How right it is about other cars can be seen only on cars that it did not make.
// So nothing is shared with package circuit: no equation, no table. Of the
// catalogues only the names of causes, checks, words and signs are used.
//
// # Model
//
// Burning (engine.go): fuel by a Willans line over brake work, friction (Barnes-
// Moss polynomial, dearer in cold oil), pumping and accessories; heat into the
// walls by Nu = 10.4 Re^0.75 with a mean gas temperature (Taylor & Toong).
//
// Bodies (state.go): head, block and oil apart; coolant in eighteen cells along
// the flow, block to head, then hose, radiator and hose, or heater, or bypass.
// What enters a cell is what left the one before: water takes its time round the
// circuit. The film of metal on coolant falls with flow, boils when it is hot,
// dries out in gas and steam.
//
// Flow (plumbing.go): a pump with a drooping curve against branches in parallel;
// gas in the circuit stops it. The thermostat melts on one S-shaped curve, freezes
// on another, and stays between them; it sits on the outlet or the inlet.
//
// Air (air.go): ram, fan and losses as pressures, with a straight fan curve; air
// drawn round again at standstill; condenser heat; radiator films by Davenport's
// and the turbulent exponent, each cell with its own share of the air. Fans are
// electric with one or two steps, pulsed, or on a clutch that slips by a limit
// speed and a bimetal.
//
// Pressure (pressure.go): gas, vapour and steam over the coolant; a tank with gas,
// or a neck filled to the brim and a bottle; the cap lets out gas, coolant or
// froth, and draws in. Leaks, combustion gas, boiling and condensing.
//
// Sensing (sensor.go): a thermistor with what a fault puts in series or beside it;
// a needle that stands still in the middle of its scale.
//
// The owner (owner.go) drives in his weather and complains of what is other than
// it was when the car was sound. The mechanic (mechanic.go, hot.go) makes checks
// with his own errors on all of them: a gun with bias, emissivity and aim, hose
// walls, rounding, slips, checks left out. The log (run.go) begins cold, idles,
// and goes through town, motorway and hill, unless it gets too hot.
//
// # Assumptions
//
// One or two faults, with effects by judgement (faults.yaml), in proportions by
// judgement: a fault met every week is four times as frequent as a rare one. A car
// whose owner notices nothing is drawn again. Healthy cars come in for things that
// are nothing. Numbers are drawn evenly and independently (ranges.yaml); what no
// run decides is drawn from tests.yaml. Almost all of it is judgement.
//
// # Where it stops being true
//
// One temperature for the whole head, one for the block; the hottest spot is not
// there. Gas is one share for the circuit, not a bubble in a place. Coolant
// properties are those near 80 degC. No turbocharger, no oil cooler, no electric
// pump, no heated thermostat. It is a different world, not a truer one: it may
// choose widths, never a number of the catalogue.
//
// # Sources
//
// Heywood 1988, Internal Combustion Engine Fundamentals, ch. 12 and 13; Guzzella &
// Onder 2010, Introduction to Modeling and Control of Internal Combustion Engine
// Systems, ch. 2; Guzzella & Sciarretta, Vehicle Propulsion Systems, ch. 2;
// Incropera et al., Fundamentals of Heat and Mass Transfer, ch. 11; Davenport 1983
// for louvred fins; Antoine's constants of the Dortmund Data Bank; Raoult's law.
// All from memory. What was held against measurements stands in the tests.
package stranger
