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
	// what can be done with a thing
	"photo": "M3 8h4l2-3h6l2 3h4v11H3zM12 10a3.5 3.5 0 1 0 .1 0", "log": "M3 18V5M3 18h18M5 15l4-5 4 2 6-7", "voice": "M12 4a2.5 2.5 0 0 1 2.5 2.5v5a2.5 2.5 0 0 1-5 0v-5A2.5 2.5 0 0 1 12 4zM6 11a6 6 0 0 0 12 0M12 17v4",
	"away": "M4 9a12 12 0 0 1 16 0M7 13a7 7 0 0 1 10 0M12 17v.2M4 4l16 16",
}

// icon is one of the icons; a word stands beside it, so nothing reads it out.
func icon(name string) template.HTML {
	d, ok := icons[path.Base(name)]
	if !ok {
		return ""
	}
	return template.HTML(`<svg class="ico" viewBox="0 0 24 24" aria-hidden="true" focusable="false"><path d="` + d + `"/></svg>`) // our own path
}
