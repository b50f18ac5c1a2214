package drawing

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"weephole/cause"
)

func TestEveryPlaceOfTheCatalogueHasOnePlate(t *testing.T) {
	want, got := cause.Places(), Places()
	slices.Sort(want)
	slices.Sort(got)
	if !slices.Equal(want, got) {
		t.Errorf("places drawn:\n%v\nplaces in the catalogue:\n%v", got, want)
	}
}

func TestDrawingsAreWellFormedAndEscaped(t *testing.T) {
	for _, car := range append(variants(), CarView{}, CarView{Inlet: true, Fan: "viscous", Cylinders: 6}, CarView{Fan: "two-speed", Fans: 2, Cylinders: 8}) {
		svg, err := SVG(car, map[string]Mark{
			"upper-hose": {Value: `<b>"95" & °C`, Known: true, TempC: 95, Made: 1}, "cap": {Next: true},
		}, func(p string) string { return "/x/" + p })
		if err != nil {
			t.Fatal(err)
		}
		d := xml.NewDecoder(strings.NewReader("<div>" + string(svg) + "</div>"))
		links := 0
		for {
			tok, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%+v: %v", car, err)
			}
			if e, ok := tok.(xml.StartElement); ok && e.Name.Local == "a" {
				links++
			}
		}
		if links != 2*len(cause.Places())-len(elsewhere) {
			t.Errorf("%+v: %d plates", car, links)
		}
		if strings.Contains(string(svg), "<b>") {
			t.Error("a value was not escaped")
		}
		for _, must := range []string{`class="body t8"`, `class="nextword"`} {
			if !strings.Contains(string(svg), must) {
				t.Errorf("%+v: no %s", car, must)
			}
		}
	}
}

// variants are cars that are drawn differently.
func variants() (out []CarView) {
	for _, inlet := range []bool{false, true} {
		for _, tank := range []string{"overflow", "pressurised"} {
			for _, radiator := range []string{"crossflow", "downflow"} {
				for _, fan := range []string{"electric", "viscous", "belt", "none", "hydraulic"} {
					for _, pump := range []string{"belt", "timing-belt", "electric", "none"} {
						out = append(out, CarView{Inlet: inlet, Tank: tank, Radiator: radiator, Fan: fan, Fans: 1 + len(out)%2, Pump: pump, Level: Level(len(out) % 4), Flow: Flow(len(out) % 3), Air: Air(len(out) % 3)})
					}
				}
			}
		}
	}
	return out
}

// compositions are both layouts of all variants; a name says which.
func compositions() (out []layout) {
	for _, car := range variants() {
		for _, l := range []layout{desk(car), phone(car)} {
			l.name += " " + car.Tank + " " + car.Radiator + map[bool]string{true: " inlet"}[car.Inlet]
			out = append(out, l)
		}
	}
	return out
}

// minTarget is the least side of what takes a tap on a phone, in CSS pixels of a
// page 374 wide: WCAG 2.2, 2.5.8 asks 24; gloves want more.
const minTarget = 48

func TestEveryPlaceCanBeHitAndLiesOnTheSheet(t *testing.T) {
	for _, l := range compositions() {
		for place, p := range l.spots {
			if p.hit.x < 0 || p.hit.y < 0 || p.hit.right() > l.w || p.hit.bottom() > l.h {
				t.Errorf("%s: %s sticks out of the sheet", l.name, place)
			}
			if p.hit.w < minTarget || p.hit.h < minTarget {
				t.Errorf("%s: %s is %g by %g, less than %d", l.name, place, p.hit.w, p.hit.h, minTarget)
			}
		}
		for _, place := range Places() {
			if _, ok := l.spots[place]; !ok && !slices.Contains(elsewhere, place) {
				t.Errorf("%s: %s is not drawn", l.name, place)
			}
		}
	}
}

// Two places may touch, but neither may cover the middle of the other.
func TestNoPlaceCoversTheMiddleOfAnother(t *testing.T) {
	for _, l := range compositions() {
		l.pairs(func(a, b string, p, q spot) {
			x, y := p.hit.x+p.hit.w/2, p.hit.y+p.hit.h/2
			if x > q.hit.x && x < q.hit.right() && y > q.hit.y && y < q.hit.bottom() {
				t.Errorf("%s: %s covers the middle of %s", l.name, b, a)
			}
		})
	}
}

// Arrows say that coolant flows: there are none where nobody has found that it does.
func TestNothingFlowsThatNobodyHasFound(t *testing.T) {
	drawn := func(car CarView, marks map[string]Mark) string {
		svg, err := SVG(car, marks, func(p string) string { return "#" + p })
		if err != nil {
			t.Fatal(err)
		}
		return string(svg)
	}
	const arrow = `d="M-3 -5L3 0L-3 5"`
	for _, car := range variants() {
		car.Flow, car.Heater = FlowUnknown, false
		if n := strings.Count(drawn(car, nil), arrow); n > 0 {
			t.Fatalf("%+v: %d arrows on a car that nobody has looked at", car, n)
		}
		car.Heater = true
		if _, after, _ := strings.Cut(drawn(car, nil), `class="through-heater"`); !strings.Contains(after, arrow) {
			t.Fatalf("%+v: no arrow to a heater that was found to heat", car)
		}
	}
}

// A wait for the cap stands on the cap, in words that its place has room for.
func TestTheWaitStandsOnTheCap(t *testing.T) {
	for left, says := range map[int]string{0: "feel hose", 45: "shut 45 s", 91: "shut 2 min", 2400: "shut 40 min"} {
		w := &Wait{Left: left, Of: 3000}
		svg, err := SVG(CarView{}, map[string]Mark{"cap": {Value: w.Word(), Wait: w}}, func(p string) string { return "#" + p })
		if err != nil {
			t.Fatal(err)
		}
		if strings.Count(string(svg), `data-left="`+strconv.Itoa(left)+`"`) != 2 || strings.Count(string(svg), `>`+says+`</text>`) != 2 {
			t.Errorf("%d s left: %s", left, svg)
		}
		for _, l := range compositions() {
			p := l.spots["cap"]
			if wide := 15 * letter * float64(len(says)); p.anchor == "end" && p.text.x < wide*l.cell/20 || p.anchor == "start" && p.text.x+wide > l.w {
				t.Errorf("%s: %q sticks out of the sheet", l.name, says)
			}
		}
	}
}

// pairs looks at every two places that are drawn, once.
func (l *layout) pairs(look func(a, b string, p, q spot)) {
	for i, a := range Places() {
		for _, b := range Places()[i+1:] {
			p, ok1 := l.spots[a]
			q, ok2 := l.spots[b]
			if ok1 && ok2 {
				look(a, b, p, q)
			}
		}
	}
}

// lab is a colour in Oklab: lightness, green-red, blue-yellow. The matrices are those
// of B. Ottosson, "A perceptual color space for image processing" (2020), from memory.
type lab struct{ L, A, B float64 }

func labOf(t *testing.T, hex string) lab {
	t.Helper()
	n, err := strconv.ParseUint(hex, 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	r, g, b := linear(n>>16), linear(n>>8&255), linear(n&255)
	l := math.Cbrt(0.4122214708*r + 0.5363325363*g + 0.0514459929*b)
	m := math.Cbrt(0.2119034982*r + 0.6806995451*g + 0.1073969566*b)
	s := math.Cbrt(0.0883024619*r + 0.2817188376*g + 0.6299787005*b)
	return lab{0.2104542553*l + 0.7936177850*m - 0.0040720468*s, 1.9779984951*l - 2.4285922050*m + 0.4505937099*s, 0.0259040371*l + 0.7827717662*m - 0.8086757660*s}
}

// linear undoes the transfer curve of sRGB (IEC 61966-2-1).
func linear(v uint64) float64 {
	x := float64(v) / 255
	if x <= 0.04045 {
		return x / 12.92
	}
	return math.Pow((x+0.055)/1.055, 2.4)
}

func TestOklabGivesTheKnownColours(t *testing.T) {
	for hex, want := range map[string]lab{
		"ffffff": {1, 0, 0}, "000000": {}, "ff0000": {0.627955, 0.224863, 0.125846},
		"00ff00": {0.866440, -0.233888, 0.179498}, "0000ff": {0.452014, -0.032457, -0.311528},
	} {
		if got := labOf(t, hex); apart(got, want) > 1e-3 {
			t.Errorf("#%s: %v, want %v", hex, got, want)
		}
	}
}

func apart(a, b lab) float64 { return math.Hypot(math.Hypot(a.L-b.L, a.A-b.A), a.B-b.B) }

// stepOff is how far a step may be from the mean of the scale: colours are whole
// numbers, and the eye tells no less. Judgement.
const stepOff = 0.2

func TestTheScaleIsEvenAndHotterStandsOutMore(t *testing.T) {
	for _, scale := range []struct {
		name   string
		shades [Shades]string
		sheet  string // the colour of the sheet
	}{{"paper", paper, "f4f1e8"}, {"garage", garage, "10202c"}} {
		mean := 0.0
		for i := range Shades - 1 {
			mean += apart(labOf(t, scale.shades[i]), labOf(t, scale.shades[i+1])) / (Shades - 1)
		}
		sheet := labOf(t, scale.sheet)
		for i := range Shades - 1 {
			a, b := labOf(t, scale.shades[i]), labOf(t, scale.shades[i+1])
			if d := apart(a, b); math.Abs(d/mean-1) > stepOff {
				t.Errorf("%s: step %d is %.3f, the mean %.3f", scale.name, i, d, mean)
			}
			if math.Abs(b.L-sheet.L) <= math.Abs(a.L-sheet.L) {
				t.Errorf("%s: shade %d stands out no more than the one before", scale.name, i+1)
			}
		}
	}
	for c, want := range map[float64]int{-30: 0, 0: 0, 9.9: 0, 10.1: 1, 95: 8, 119: 10, 400: 11} {
		if got := Shade(c); got != want {
			t.Errorf("Shade(%g) = %d, want %d", c, got, want)
		}
	}
}

// TestDraw writes the drawing to the folder that WEEPHOLE_ARTEFACTS names, to look at.
func TestDraw(t *testing.T) {
	dir := os.Getenv("WEEPHOLE_ARTEFACTS")
	if dir == "" {
		t.Skip("WEEPHOLE_ARTEFACTS names no folder")
	}
	svg, err := SVG(CarView{US: true, Cylinders: 4}, map[string]Mark{
		"upper-hose": {Value: "205 °F", Known: true, TempC: 96, Made: 1, Healthy: &Range{85, 99, "185 to 210 °F"}},
		"lower-hose": {Value: "92 °F", Known: true, TempC: 33, Made: 1, Healthy: &Range{65, 88, "150 to 190 °F"}},
		"fan":        {Value: "does not run", Made: 1, State: Bad}, "tank": {Value: "full", Made: 1}, "radiator": {Next: true},
		"pump": {Value: "weak", Made: 1, State: Doubtful},
	}, func(p string) string { return "#" + p })
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "drawing.html"), []byte(svg), 0o644); err != nil {
		t.Fatal(err)
	}
}
