// Package drawing draws the cooling circuit of one car as SVG, with a plate to
// tap for every place where something can be looked at or measured.
//
// Problem: a mechanic thinks in places, not in lists of checks. He must find
// the place, hit it with a gloved finger, and see what has been read there.
// Model: one fixed sheet, 400 by 524 units, with the parts in the middle and the
// plates in rows above and below, each tied to its part by a leader, as on a
// drafting sheet. What differs between cars is drawn: where the thermostat sits,
// the kind and number of fans, the cylinders. A reading in degrees gives its
// part a shade from a scale whose steps look equally far apart (scale.go); the
// number stands on the plate, so the shade never tells alone.
// Assumptions: 44 CSS pixels or more for a plate on a screen of 360
// (WCAG 2.2, 2.5.8 asks 24); plates are 75 by 50 units.
// Where it stops being true: engines in V, two radiators, heaters at both ends
// are drawn as if they were plain.
// Sources: the layout is our own; the scale's source stands in scale.go.
package drawing
