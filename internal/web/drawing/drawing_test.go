package drawing

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"slices"
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
	for _, car := range []Car{{}, {Inlet: true, Fan: "viscous", Cylinders: 6}, {Fan: "two-speed", Fans: 2, Cylinders: 8}} {
		svg, err := SVG(car, map[string]Mark{
			"upper-hose": {Value: `<b>"95" & °C`, Known: true, TempC: 95, Made: 1}, "cap": {Next: true},
		}, func(p string) string { return "/x/" + p })
		if err != nil {
			t.Fatal(err)
		}
		d := xml.NewDecoder(strings.NewReader(string(svg)))
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
		if links != len(cause.Places()) {
			t.Errorf("%+v: %d plates", car, links)
		}
		if strings.Contains(string(svg), "<b>") {
			t.Error("a value was not escaped")
		}
		for _, must := range []string{`class="inner t9"`, "next step here"} {
			if !strings.Contains(string(svg), must) {
				t.Errorf("%+v: no %s", car, must)
			}
		}
	}
}

func TestPlatesDoNotOverlap(t *testing.T) {
	for _, inlet := range []bool{false, true} {
		seen := map[[2]int]string{}
		for _, p := range plates {
			if p.place == "thermostat" && p.inlet != inlet {
				continue
			}
			at := [2]int{p.row, p.col}
			if other := seen[at]; other != "" {
				t.Errorf("%s lies on %s", p.place, other)
			}
			seen[at] = p.place
		}
	}
}

// The known points of the space: sRGB white is Oklab (1, 0, 0), black is (0, 0,
// 0); sRGB red is (0.628, 0.225, 0.126), green (0.866, -0.234, 0.179), blue
// (0.452, -0.032, -0.312): B. Ottosson 2020, from memory, and each other.
func TestOklabGivesTheKnownColours(t *testing.T) {
	for _, tt := range []struct {
		name string
		c    lab
		want [3]int
	}{
		{"white", lab{1, 0, 0}, [3]int{255, 255, 255}},
		{"black", lab{0, 0, 0}, [3]int{0, 0, 0}},
		{"red", lab{0.627955, 0.224863, 0.125846}, [3]int{255, 0, 0}},
		{"green", lab{0.866440, -0.233888, 0.179498}, [3]int{0, 255, 0}},
		{"blue", lab{0.452014, -0.032457, -0.311528}, [3]int{0, 0, 255}},
	} {
		got := tt.c.rgb()
		for i := range got {
			if d := got[i] - tt.want[i]; d < -2 || d > 2 {
				t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
				break
			}
		}
	}
}

func TestTheScaleIsEvenAndLegible(t *testing.T) {
	apart := func(a, b lab) float64 { return math.Sqrt(sq(a.L-b.L) + sq(a.A-b.A) + sq(a.B-b.B)) }
	first := apart(shade(0), shade(1))
	for i := range Shades - 1 {
		if d := apart(shade(i), shade(i+1)); math.Abs(d/first-1) > 1e-9 {
			t.Errorf("step %d is %g, the first %g", i, d, first)
		}
		if shade(i).L <= shade(i+1).L {
			t.Errorf("step %d is no darker than the one before", i+1)
		}
	}
	for i := range Shades {
		ink := 0.0
		if shade(i).L >= inkTurns {
			ink = luminance([3]int{})
		} else {
			ink = luminance([3]int{255, 255, 255})
		}
		a, b := luminance(shade(i).rgb()), ink
		if a < b {
			a, b = b, a
		}
		if ratio := (a + 0.05) / (b + 0.05); ratio < 4.5 { // WCAG 2.2, 1.4.3
			t.Errorf("shade %d: contrast %.2f", i, ratio)
		}
		if !inGamut(shade(i)) {
			t.Errorf("shade %d is outside sRGB", i)
		}
	}
	for c, want := range map[float64]int{-30: 0, 0: 0, 9.9: 0, 10: 1, 95: 9, 119: 11, 400: 11} {
		if got := Shade(c); got != want {
			t.Errorf("Shade(%g) = %d, want %d", c, got, want)
		}
	}
}

func sq(x float64) float64 { return x * x }

// luminance is WCAG's relative luminance.
func luminance(rgb [3]int) float64 {
	lin := func(v int) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(rgb[0]) + 0.7152*lin(rgb[1]) + 0.0722*lin(rgb[2])
}

// inGamut: no channel was cut off, so the step that is seen is the step meant.
func inGamut(c lab) bool {
	for _, v := range c.rgb() {
		if v == 0 || v == 255 {
			return false
		}
	}
	return true
}
