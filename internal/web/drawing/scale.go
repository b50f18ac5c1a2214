package drawing

import (
	_ "embed"
	"fmt"
	"math"
	"strings"
)

// Shades is the number of steps of the temperature scale.
const Shades = 12

// The scale spans what a cooling circuit reads, degC: 30 to 270 °F in steps of 20.
// From a frosty morning to above any thermostat and cap. Judgement.
const (
	scaleLowC  = (30 - 32) / 1.8
	scaleHighC = (270 - 32) / 1.8
)

// Shade is the step of the scale for a temperature in degC, 0 to Shades-1.
func Shade(c float64) int {
	i := int(math.Floor((c - scaleLowC) / (scaleHighC - scaleLowC) * Shades))
	return max(0, min(Shades-1, i))
}

// The shades lie in equal steps in Oklab, so that equal steps of temperature look
// equally far apart; a test holds them to it. Hotter always stands out more from
// the sheet, so that the order can be read in grey too: darker on paper, lighter in
// the garage.
var (
	paper  = [Shades]string{"b6dbeb", "a0c9e5", "8eb6de", "8ca0d3", "948ac5", "9d75af", "a7628f", "b04f6e", "af384a", "a02928", "891d17", "711612"}
	garage = [Shades]string{"204154", "2c4e6f", "3f5a8a", "615e9b", "845f9f", "a35e92", "c05a7f", "db5c6d", "ef6a60", "fc805c", "ff9a62", "ffb36a"}
)

//go:embed circuit.css
var circuitCSS string

// CSS gives the style of the drawing, and the scale as classes t0, t1, ... by day
// and by night.
func CSS() string {
	var b strings.Builder
	b.WriteString(circuitCSS)
	classes := func(scale *[Shades]string) {
		for i, hex := range scale {
			fmt.Fprintf(&b, ".t%d{--shade:#%s}\n", i, hex)
		}
	}
	classes(&paper)
	b.WriteString("@media (prefers-color-scheme: dark) {\n")
	classes(&garage)
	b.WriteString("}\n")
	return b.String()
}
