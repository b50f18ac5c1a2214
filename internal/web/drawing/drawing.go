package drawing

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"
	"unicode/utf8"
)

// Car is what the drawing shows of a car.
type Car struct {
	Inlet     bool   // the thermostat sits on the engine's inlet
	Fan       string // "electric", "two-speed", "viscous"; "" drawn as electric
	Fans      int    // 1 or 2 are drawn
	Cylinders int    // 2 to 8 are drawn; 0 as four
}

// Mark is what a plate says.
type Mark struct {
	Value string  // as read, "" for nothing yet
	Known bool    // TempC is known
	TempC float64 // degC, shades the part
	Made  int     // findings made here
	Next  bool    // the next step is here
}

// Link gives the address that a place's plate leads to.
type Link func(place string) string

//go:embed circuit.svg
var sheet string

var parsed = template.Must(template.New("circuit").Parse(sheet))

// Places are the places in the order of the plates, as a reader goes through
// them.
func Places() []string {
	out := make([]string, 0, len(plates))
	for _, p := range plates {
		if p.place != "thermostat" || !p.inlet {
			out = append(out, p.place)
		}
	}
	return out
}

// Name is a place's name in words.
func Name(place string) string { return strings.ReplaceAll(place, "-", " ") }

const (
	plateW, plateH = 75, 50
	columnStep     = 79
)

// plate is where a place's plate and the leader to its part are.
type plate struct {
	place    string
	row, col int
	leader   string // SVG path from the plate to the part
	inlet    bool   // of a thermostat on the inlet
}

var rowsY = [4]int{4, 58, 412, 466}

var plates = []plate{
	{place: "tank", row: 0, col: 0, leader: "M4 40 H2 V145 H6"},
	{place: "neck", row: 0, col: 1, leader: "M83 48 L81 52 V118 L61 158"},
	{place: "sensor", row: 0, col: 2, leader: "M237 48 L239 52 V118 L250 156"},
	{place: "gauge", row: 0, col: 3, leader: "M316 48 L318 52 V118 L326 138"},
	{place: "cabin", row: 0, col: 4, leader: "M395 40 H398 V172 L394 182"},
	{place: "cap", row: 1, col: 0, leader: "M45 108 L52 140"},
	{place: "upper-hose", row: 1, col: 1, leader: "M120 108 V172"},
	{place: "thermostat", row: 1, col: 2, leader: "M196 108 L191 174"},
	{place: "thermostat", row: 3, col: 1, leader: "M157 470 L160 462 V408 L150 340", inlet: true},
	{place: "head", row: 1, col: 3, leader: "M280 108 V168"},
	{place: "heater", row: 1, col: 4, leader: "M362 108 V195"},
	{place: "radiator", row: 2, col: 0, leader: "M45 412 V345"},
	{place: "lower-hose", row: 3, col: 0, leader: "M78 470 L81 462 V408 L104 341"},
	{place: "fan", row: 2, col: 1, leader: "M120 412 L114 318"},
	{place: "pump", row: 2, col: 2, leader: "M199 412 L192 335"},
	{place: "belt", row: 3, col: 2, leader: "M237 470 L239 462 V408 L228 378"},
	{place: "engine", row: 2, col: 3, leader: "M280 412 V350"},
	{place: "exhaust", row: 2, col: 4, leader: "M357 412 V341"},
	{place: "brakes", row: 3, col: 3, leader: "M316 470 L318 462 V400"},
	{place: "road", row: 3, col: 4, leader: "M395 474 H398 V402"},
}

type plateView struct {
	Place, Name, Href, Leader, Says string
	X, Y, MidX, NameY, ValueY       int
	Mark
	Long  bool // the value is too wide for a plate in the usual size
	Shade string
}

// usualValue is how many characters of the usual size a plate is wide.
const usualValue = 8

type point struct{ X, Y int }

type view struct {
	Car
	Plates  []plateView
	Shades  map[string]string // class by place
	Bores   []point
	BoreR   int
	FanMids []int
}

// SVG draws the car's circuit with the marks of its places.
func SVG(car Car, marks map[string]Mark, link Link) (template.HTML, error) {
	v := view{Car: car, Shades: map[string]string{}}
	for _, p := range plates {
		if p.place == "thermostat" && p.inlet != car.Inlet {
			continue
		}
		m := marks[p.place]
		x, y := 4+p.col*columnStep, rowsY[p.row]
		pv := plateView{
			Place: p.place, Name: Name(p.place), Href: link(p.place), Leader: p.leader,
			X: x, Y: y, MidX: x + plateW/2, NameY: y + 19, ValueY: y + 40, Mark: m,
		}
		pv.Says = spoken(pv.Name, m)
		pv.Long = utf8.RuneCountInString(m.Value) > usualValue
		if m.Known {
			pv.Shade = fmt.Sprintf("t%d", Shade(m.TempC))
			v.Shades[p.place] = pv.Shade
		}
		v.Plates = append(v.Plates, pv)
	}
	v.bores()
	v.FanMids = []int{255}
	if car.Fans > 1 && car.Fan != "viscous" {
		v.FanMids = []int{215, 295}
	}
	var b strings.Builder
	if err := parsed.Execute(&b, v); err != nil {
		return "", fmt.Errorf("draw the circuit: %w", err)
	}
	return template.HTML(b.String()), nil // the template has escaped what came from outside
}

// spoken is what a screen reader says of a plate; it begins with what is seen.
func spoken(name string, m Mark) string {
	s := name
	if m.Value != "" {
		s += " " + m.Value
	}
	if m.Next {
		s += ", next step here"
	}
	return s
}

// bores spreads the cylinders over the block; eight are drawn in two rows.
func (v *view) bores() {
	n := v.Cylinders
	if n < 2 || n > 8 {
		n = 4
	}
	rows := 1
	if n > 6 {
		rows = 2
	}
	per := (n + rows - 1) / rows
	v.BoreR = min(15, 54/per)
	for i := range n {
		v.Bores = append(v.Bores, point{250 + (2*(i%per)-per+1)*54/per, 258 + (i/per)*34})
	}
}
