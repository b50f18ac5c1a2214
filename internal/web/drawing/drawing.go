package drawing

import (
	"fmt"
	"html"
	"html/template"
	"strings"
)

// CarView is what the drawing shows of a car.
type CarView struct {
	Inlet     bool   // the thermostat sits on the engine's inlet
	Fan       string // as a job file has it; "" is drawn as electric
	Fans      int    // 1 or 2 are drawn
	Cylinders int    // 2 to 8 are drawn; 0 as four
	Pump      string // "belt", "timing-belt", "electric", "none"; "" is drawn as belt
	Tank      string // "overflow", "pressurised"; "" is drawn as overflow
	Radiator  string // "crossflow", "downflow"; "" is drawn as crossflow
	Flow      Flow   // which way the coolant goes
	Heater    bool   // it was found to go through the heater
	Air       Air    // whether the fan moves air
	Level     Level  // of the coolant
	US        bool   // the key of the temperatures is in °F
}

// Flow is the way of the coolant, by what was found.
type Flow int

// The ways of the coolant.
const (
	FlowUnknown Flow = iota
	ThroughRadiator
	ThroughBypass
)

// Air is what the fan does, by what was found.
type Air int

// What the fan does.
const (
	AirUnknown Air = iota
	AirMoves
	AirStill
)

// Level is the coolant's level, by what was found.
type Level int

// The levels.
const (
	LevelUnknown Level = iota
	LevelFull
	LevelLow
	LevelEmpty
)

// State is how a part stands by what was found there.
type State string

// The states that are drawn on the part itself, by shape and word.
const (
	Fine     State = ""
	Doubtful State = "doubtful" // hatched
	Bad      State = "bad"      // hatched and crossed
)

// Mark is what was found at a place.
type Mark struct {
	Value   string  // as read, "" for nothing yet
	Word    string  // what was said besides a reading, "" for nothing
	Known   bool    // TempC is known
	TempC   float64 // degC, shades the part
	Made    int     // findings made here
	Next    bool    // the next step is here
	State   State
	Healthy *Range // what a healthy engine reads here, nil if not known
	Wait    *Wait  // for the place to be safe to touch; nil: none is counted
}

// Wait is what is left of a wait, in seconds. The page's script counts on, and writes the
// mark's value as Word does.
type Wait struct{ Left, Of int }

// Word is the wait as it stands at its place. The clock alone opens no cap.
func (w *Wait) Word() string {
	const soon = 90 // s from which on minutes are said
	switch {
	case w.Left > soon:
		return fmt.Sprintf("shut %d min", (w.Left+59)/60)
	case w.Left > 0:
		return fmt.Sprintf("shut %d s", w.Left)
	}
	return "feel hose"
}

// Range is a healthy engine's reading.
type Range struct {
	LowC, HighC float64
	Says        string // in the unit that the reading was typed in
}

// Link gives the address that a place leads to.
type Link func(place string) string

// Places are all places, in the order in which they are drawn and a reader goes
// through them: what lies below first, then from the radiator to the engine.
func Places() []string {
	return []string{"lower-hose", "upper-hose", "radiator", "neck", "cap", "tank", "fan", "thermostat", "engine", "head", "sensor", "gauge", "heater", "belt", "pump", "cabin", "exhaust", "brakes", "road"}
}

// elsewhere are the places that are no part of the circuit: words below it.
var elsewhere = []string{"cabin", "exhaust", "brakes", "road"}

// Name is a place's name in words.
func Name(place string) string { return strings.ReplaceAll(place, "-", " ") }

// sheet is a drawing in the making.
type sheet struct {
	strings.Builder
	layout
	id    string // its own among the drawings of a page
	car   CarView
	marks map[string]Mark
	link  Link
}

// SVG draws the car's circuit with the marks of its places, in two compositions
// with the same parts: one for a phone, one for a desk. The page's style shows one
// of them.
func SVG(car CarView, marks map[string]Mark, link Link) (template.HTML, error) {
	var b strings.Builder
	for _, l := range []layout{desk(car), phone(car)} {
		b.WriteString(drawn(l, "", car, marks, link))
	}
	b.WriteString(`<p class="elsewhere"><span>Elsewhere</span>`)
	for _, place := range elsewhere {
		m := marks[place]
		fmt.Fprintf(&b, ` <a href="%s" data-place="%s"%s>%s`, html.EscapeString(link(place)), place, nextClass(m), Name(place))
		if m.Value != "" {
			fmt.Fprintf(&b, ` <b>%s</b>`, html.EscapeString(m.Value))
		}
		b.WriteString(`</a>`)
	}
	b.WriteString(`</p>`)
	return template.HTML(b.String()), nil // every text from outside is escaped where it is written
}

// Small draws the phone's composition alone, to be set beside another one. id keeps
// its names apart from those of the page's main drawing.
func Small(car CarView, marks map[string]Mark, link Link, id string) template.HTML {
	return template.HTML(drawn(phone(car), "-"+id, car, marks, link)) // as above
}

func drawn(l layout, id string, car CarView, marks map[string]Mark, link Link) string {
	s := &sheet{layout: l, id: l.name + id, car: car, marks: marks, link: link}
	s.draw()
	return s.String()
}

func nextClass(m Mark) string {
	if m.Next {
		return ` class="next"`
	}
	return ""
}

func (s *sheet) f(format string, args ...any) { fmt.Fprintf(s, format, args...) }

// draw draws everything, what lies below first.
func (s *sheet) draw() {
	s.f(`<svg class="circuit %s" viewBox="0 0 %g %g" role="group" aria-label="Cooling circuit">`, strings.Replace(s.id, s.name+"-", "small ", 1), s.w, s.h)
	s.f(`<defs><pattern id="hatch-%s" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" d="M0 0V7"/></pattern></defs>`, s.id)
	s.grid()
	for _, place := range Places() {
		if p, ok := s.spots[place]; ok {
			s.place(place, p)
		}
	}
	s.flow()
	s.key()
	s.f(`</svg>`)
}

// place draws one place: its part, its mark, its name, and what takes the tap. What
// is written there is what a screen reader says of it.
func (s *sheet) place(name string, p spot) {
	m := s.marks[name]
	class := "part"
	if m.Made > 0 {
		class += " made"
	}
	if m.Next {
		class += " next"
	}
	shade := ""
	if m.Known {
		shade = fmt.Sprintf(` t%d`, Shade(m.TempC))
	}
	s.f(`<a class="%s" id="plate-%s-%s" href="%s" data-place="%s">`, class, name, s.id, html.EscapeString(s.link(name)), name)
	if m.Next {
		s.halo(p.frame)
	}
	s.f(`<g class="body%s">`, shade)
	s.part(name)
	s.f(`</g>`)
	if m.State != Fine {
		s.state(p.frame, m.State)
	}
	if w := m.Wait; w != nil {
		const wide = 40 // units of the pie as it is written
		size := max(p.frame.w, p.frame.h) / wide
		s.f(`<g class="cap-left" data-left="%d" data-of="%d" transform="translate(%g %g) scale(%.3f)"><circle cx="20" cy="20" r="17"/><path d=""/></g>`,
			w.Left, w.Of, p.frame.x+p.frame.w/2-wide/2*size, p.frame.y+p.frame.h/2-wide/2*size, size)
	}
	s.label(name, p, m)
	for _, r := range []rect{p.hit, p.plate} {
		if r.w > 0 && (r == p.hit || m.Known) {
			s.f(`<rect class="hit" x="%g" y="%g" width="%g" height="%g"/>`, r.x, r.y, r.w, r.h)
		}
	}
	s.f(`</a>`)
}

// haloFrom is how far the halo keeps from its place, in its own steps; judgement.
const haloFrom = 1.2

// halo is the frame of the next place.
func (s *sheet) halo(r rect) {
	step := s.cell / 5 // as much closer as the parts are
	for i := 3; i >= 0; i-- {
		d := step * (haloFrom + float64(i))
		s.f(`<rect class="glow g%d" x="%g" y="%g" width="%g" height="%g" rx="5"/>`, i, r.x-d, r.y-d, r.w+2*d, r.h+2*d)
	}
}

// state hatches a part; a bad one is crossed too. The word stands in its label.
func (s *sheet) state(r rect, state State) {
	s.f(`<rect x="%g" y="%g" width="%g" height="%g" fill="url(#hatch-%s)"/>`, r.x, r.y, r.w, r.h, s.id)
	if state != Bad {
		return
	}
	d := min(r.w, r.h)*.36 + 2
	x, y := r.x+r.w/2, r.y+r.h/2
	for _, k := range []string{"x0", "x1"} {
		s.f(`<path class="%s" d="M%g %gl%g %gm0 %gl%g %g"/>`, k, x-d, y-d, 2*d, 2*d, -2*d, -2*d, 2*d)
	}
}

// label writes a place's name and what was read there; a temperature gets a plate
// with a healthy engine's range as a scale.
func (s *sheet) label(name string, p spot, m Mark) {
	if m.Known && p.plate.w > 0 {
		s.plate(name, p, m)
		return
	}
	if p.leader != "" {
		class := "leader"
		if m.Next {
			class += " acc"
		}
		s.f(`<path class="%s" d="%s"/>%s`, class, p.leader, dotAt(p.leader, m.Next))
	}
	title, value := Name(name), m.Value
	if m.State == Doubtful && value != "" {
		value += " ?"
	}
	if m.Value != "" && p.above {
		p.text.y -= s.line
	}
	if m.Next {
		p.text.y += s.clearOfHalo(p)
	}
	if m.Value == "" {
		s.f(`<text x="%g" y="%g" text-anchor="%s">%s</text>`, p.text.x, p.text.y, p.anchor, title)
	} else {
		class := "nb"
		if m.Wait != nil && m.Wait.Word() == value { // a fault of the place goes before it
			class += " cap-says"
		}
		s.f(`<text x="%g" y="%g" text-anchor="%s">%s</text> <text class="%s" x="%g" y="%g" text-anchor="%s">%s</text>`,
			p.text.x, p.text.y, p.anchor, title, class, p.text.x, p.text.y+s.line, p.anchor, html.EscapeString(value))
	}
	if m.Next {
		y := p.text.y - s.line
		s.f(` <text class="nextword" x="%g" y="%g" text-anchor="%s">next</text>`, p.text.x, y, p.anchor)
	}
}

// clearOfHalo is how much lower a name below its part stands, so that the word over it
// does not stand on the frame of the next place.
func (s *sheet) clearOfHalo(p spot) float64 {
	beside := p.anchor == "start" && p.text.x >= p.frame.right() || p.anchor == "end" && p.text.x <= p.frame.x
	if beside || p.text.y < p.frame.bottom() {
		return 0
	}
	frame := p.frame.bottom() + haloFrom*s.cell/5
	return max(0, frame+letterHeight*s.line-(p.text.y-s.line))
}

// letterHeight is how high letters are with some air, of the distance between lines; judgement.
const letterHeight = 0.75

// dotAt ends a leader in a dot on the part: leaders are written from the part.
func dotAt(path string, next bool) string {
	var x, y float64
	if _, err := fmt.Sscanf(path, "M%g %g", &x, &y); err != nil {
		return ""
	}
	class := "end"
	if next {
		class += " acc"
	}
	return fmt.Sprintf(`<circle class="%s" cx="%g" cy="%g" r="2.4"/>`, class, x, y)
}

// The line of a plate spans what a hot engine's parts read, degC: judgement.
const (
	plateLowC  = 15.0
	plateHighC = 120.0
)

// plate is a reading with its scale.
func (s *sheet) plate(name string, p spot, m Mark) {
	r := p.plate
	if m.Healthy == nil { // one line less
		if p.above {
			r.y += s.line
		}
		r.h -= s.line
	}
	class := "plate"
	if m.Next {
		class = "nextplate"
	}
	if p.leader != "" {
		s.f(`<path class="leader" d="%s"/>%s`, p.leader, dotAt(p.leader, m.Next))
	}
	s.f(`<rect class="%s" x="%g" y="%g" width="%g" height="%g" rx="2"/><rect class="swatch t%d" x="%g" y="%g" width="6" height="%g"/>`,
		class, r.x, r.y, r.w, r.h, Shade(m.TempC), r.x+.6, r.y+.6, r.h-1.2)
	title := Name(name)
	if m.Word != "" {
		title += ": " + m.Word
		if m.State == Doubtful {
			title += " ?"
		}
	}
	s.f(`<text class="rd" x="%g" y="%g">%s</text> <text x="%g" y="%g" text-anchor="end">%s</text>`,
		r.x+13, r.y+20, html.EscapeString(m.Value), r.x+r.w-9, r.y+20, html.EscapeString(title))
	left, wide, y := r.x+13, r.w-24, r.y+35
	at := func(c float64) float64 { return left + wide*max(0, min(1, (c-plateLowC)/(plateHighC-plateLowC))) }
	s.f(`<path class="axis" d="M%g %gH%g"/>`, left, y, left+wide)
	if h := m.Healthy; h != nil {
		s.f(`<rect class="healthy" x="%.1f" y="%g" width="%.1f" height="8"/> <text class="sm" x="%g" y="%g">healthy %s</text>`,
			at(h.LowC), y-4, max(3, at(h.HighC)-at(h.LowC)), left, r.y+r.h-8, html.EscapeString(h.Says))
	}
	s.f(`<circle class="markdot" cx="%.1f" cy="%g" r="4.5"/>`, at(m.TempC), y)
}
