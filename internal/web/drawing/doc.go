// Package drawing draws the cooling circuit of one car as SVG, with a place to tap
// wherever something can be looked at or measured.
//
// Problem: a mechanic thinks in places, not in lists of checks. He must find the
// place, hit it with a gloved finger, and see what has been read there and how it
// stands.
// Model: two compositions with the same parts, 920 by 600 units for a desk and 374 by
// 514 for a phone (layout.go). Each part is a function of its size (parts.go), so that
// lettering and line weights stay true at both. What differs between cars is drawn:
// where the thermostat sits, the kind and number of fans, what drives the pump, the
// kind of tank and where the cap is, which way the coolant goes through the radiator,
// the cylinders. A reading in
// degrees fills its part with a shade from a scale whose steps look equally far apart
// (scale.go), and stands on a plate with a healthy engine's range; the shade never
// tells alone. A part that was found bad is hatched and crossed, a doubtful one
// hatched. Arrows of flow follow what was found: the thermostat out of the car,
// else the upper hose, which is hot where coolant passes the thermostat. Through the
// heater they go only where it was found to give heat. A wait for the cap is a pie on it,
// counted on by the page. The level
// found is drawn in the tank and in the radiator. Air arrows are dashed while nobody
// has seen the fan, and gone where it stands.
// Assumptions: 48 CSS pixels at least for a place on a screen of 374 (WCAG 2.2, 2.5.8
// asks 24).
// Where it stops being true: engines in V, two radiators, and heaters at both
// ends are drawn as if they were plain.
// Sources: the layout is our own; the scale's source stands in scale.go.
package drawing
