package web

import (
	"html/template"
	"path"
)

// icons are our own: the silhouettes of the drawing's parts and of the pages, 24 by
// 24, lines of 1.5 with round ends. Each stands beside a word and says nothing alone.
// A triangle is only for cautions.
var icons = map[string]string{
	"caution": "M12 3.5 22 20H2zM12 10v5M12 17.4v.2",
	// the pages of a job
	"job": "M4 5h16v14H4zM8 9h8M8 12h8M8 15h5", "plan": "M5 12h4M9 12 14 6h5M9 12l5 6h5", "repair": "M14.5 5.5a4 4 0 0 0-5 5L4 16v4h4l5.5-5.5a4 4 0 0 0 5-5L16 12l-4-4z",
	"proof": "M4 18 9 12l4 3 7-9M4 20.5h16", "letter": "M3.5 6h17v12h-17zM3.5 6.5 12 13l8.5-6.5", "close": "M5 12.5 10 17.5 19.5 6.5",
	// the places
	"upper-hose": "M3 7h7q5 0 5 5v6M3 11h6q2 0 2 2v5", "lower-hose": "M3 17h7q5 0 5-5V6M3 13h6q2 0 2-2V6", "radiator": "M4 5h3v14H4zM17 5h3v14h-3zM7 8h10M7 12h10M7 16h10",
	"neck": "M8 5h8v4H8zM6 9h12v10H6z", "cap": "M4 10h16v4H4zM8 10V7h8v3M9 14v5h6v-5", "tank": "M6 7h12v12H6zM9 7V4h6v3M6 13h12",
	"fan": "M12 12C8 9 9 4 13 4c2 3 1 6-1 8zM12 12c4 3 3 8-1 8-2-3-1-6 1-8zM12 12c-3 4-8 3-8-1 3-2 6-1 8 1zM12 12c3-4 8-3 8 1-3 2-6 1-8-1z", "thermostat": "M4 12h5M15 12h5M9 7v10M13 9l4 3-4 3",
	"engine": "M5 9h14v10H5zM8 9V5h8v4M9 12v4M12 12v4M15 12v4", "head": "M4 14h16v4H4zM6 14l2-6h8l2 6", "sensor": "M10 3h4v9h-4zM8 12h8v4H8zM12 16v5", "gauge": "M4 17a8 8 0 0 1 16 0M12 17l4-6",
	"heater": "M4 6h10v12H4zM7 6v12M11 6v12M17 9h4M17 15h4", "belt": "M8 5a4 4 0 0 0-4 6l9 8a4 4 0 0 0 6-6zM8 9v.1M15 15v.1", "pump": "M12 5a7 7 0 1 0 7 7V5zM12 9v3l3 2",
	"cabin": "M3 16V12l3-6h12l3 6v4zM6 11h12", "exhaust": "M3 12h6v5H3zM9 14.5h8M19 12c2 0 2-3 0-3M17 18c3 0 4-2 4-4", "brakes": "M12 4a8 8 0 1 0 8 8M12 9a3 3 0 1 0 3 3M16 4l4 4", "road": "M8 20 10 4M16 20 14 4M12 6v2M12 11v2M12 16v3",
	// what a check is made with
	"eye": "M2.5 12q9.500-11 19 0-9.500 11-19 0zM12 9a3 3 0 1 0 .1 0", "thermometer": "M10 14V5a2 2 0 0 1 4 0v9a4 4 0 1 1-4 0zM12 9v7", "scan-tool": "M6 3h12v18H6zM9 6h6v5H9zM9 15h.1M12 15h.1M15 15h.1M9 18h6",
	"pressure": "M12 4a8 8 0 1 0 .1 0M12 12l4-4M12 20v2M6.500 15h.1M17.500 15h.1", "meter": "M5 4h14v16H5zM8 7h8v4H8zM12 14a2 2 0 1 0 .1 0M8 22l1-2M16 22l-1-2", "torch": "M4 9v6l6-1h9v-4h-9zM13 10v1.5M2 7l-1-1M2 12H.5M2 17l-1 1",
	"flask": "M9 3h6M10 3v6l-5 9q-1 3 2 3h10q3 0 2-3l-5-9V3M7.500 15h9", "pan": "M3 12h18l-2 7H5zM12 3v5M10 6l2 2.500 2-2.500", "spanner": "M14.5 5.5a4 4 0 0 0-5 5L4 16v4h4l5.500-5.500a4 4 0 0 0 5-5L16 12l-4-4z",
	// what a caution is about
	"scald": "M7 21h10M12 3q4 5 4 8a4 4 0 0 1-8 0q0-3 4-8zM5 17q1.500-1.500 3 0t3 0 3 0 3 0 2-.5", "moving-parts": "M7 7a4 4 0 1 0 .1 0M17 12a4 4 0 1 0 .1 0M8.500 7.300 19 12.500M6 14.900l9.500 4.900", "still-parts": "M7 8a4 4 0 1 0 .1 0M17 8a4 4 0 1 0 .1 0M4 21h16",
	"hot-parts": "M4 20h16M7 16q-2-2 0-4t0-4M12 16q-2-2 0-4t0-4M17 16q-2-2 0-4t0-4", "glycol": "M9 3h6v3l2 3v12H7V9l2-3zM10 13l4 4M14 13l-4 4", "exhaust-gas": "M2 14h7v4H2zM12 16q2-3 4 0t4 0M12 11q2-3 4 0t4 0M14 6q2-2.500 4 0",
	"raised-car": "M4 9l2-4h12l2 4v4H4zM7 13v7M17 13v7M5 20h4M15 20h4", "air-pressure": "M4 8h11a2.500 2.500 0 1 0-2.500-2.500M4 12h15M4 16h9a2.500 2.500 0 1 1-2.500 2.500", "crank-kick": "M12 5a7 7 0 1 1-6.500 4.500M5 4v5.500h5.500M12 12v.1",
	"ignition-fuel": "M13 2 6 13h5l-1 9 8-12h-5z", "test-fluid": "M9 3h6M10 3v6l-5 9q-1 3 2 3h10q3 0 2-3l-5-9V3M12 12v4M12 18v.1", "boiling-water": "M5 11h14v9H5zM3 13h2M19 13h2M9 8q-1.500-1.500 0-3t0-3M14 8q-1.500-1.500 0-3t0-3", "sharp-edges": "M3 20 8 5l3 8 3-9 7 16z", "high-voltage": "M3 6h18v13H3zM7 6V3M17 6V3M13 8l-3 5h4l-3 4",
	// what can be done with a thing
	"photo": "M3 8h4l2-3h6l2 3h4v11H3zM12 10a3.5 3.5 0 1 0 .1 0", "log": "M3 18V5M3 18h18M5 15l4-5 4 2 6-7", "voice": "M12 4a2.5 2.5 0 0 1 2.5 2.5v5a2.5 2.5 0 0 1-5 0v-5A2.5 2.5 0 0 1 12 4zM6 11a6 6 0 0 0 12 0M12 17v4",
	"away": "M4 9a12 12 0 0 1 16 0M7 13a7 7 0 0 1 10 0M12 17v.2M4 4l16 16",
}

// meansIcons are what a tool of the catalogue looks like.
var meansIcons = map[string]string{
	"infrared": "thermometer", "probe": "thermometer", "scan-tool": "scan-tool", "pressure-tester": "pressure", "backpressure-gauge": "pressure", "compression-tester": "pressure", "leakdown-tester": "pressure",
	"multimeter": "meter", "torch": "torch", "timing-light": "torch", "gas-analyser": "flask", "gas-test-kit": "flask", "refractometer": "flask", "pot": "flask", "drain-pan": "pan", "funnel": "pan", "hand-tools": "spanner",
}

// icon is one of the icons; a word stands beside it, so nothing reads it out.
func icon(name string) template.HTML {
	d, ok := icons[path.Base(name)]
	if !ok {
		return ""
	}
	return template.HTML(`<svg class="ico" viewBox="0 0 24 24" aria-hidden="true" focusable="false"><path d="` + d + `"/></svg>`) // our own path
}
