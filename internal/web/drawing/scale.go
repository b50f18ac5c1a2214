package drawing

import (
	"fmt"
	"math"
	"strings"
)

// Shades is the number of steps of the temperature scale.
const Shades = 12

// The scale spans what a cooling circuit reads, degC: from frost to above any
// thermostat and below boiling under a cap. Judgement.
const (
	scaleLowC  = 0.0
	scaleHighC = 120.0
)

// Shade is the step of the scale for a temperature in degC, 0 to Shades-1.
func Shade(c float64) int {
	i := int(math.Floor((c - scaleLowC) / (scaleHighC - scaleLowC) * Shades))
	return max(0, min(Shades-1, i))
}

// lab is a colour in Oklab: lightness 0..1, green-red, blue-yellow.
type lab struct{ L, A, B float64 }

// The ends of the scale: a straight line through Oklab, so that equal steps of
// temperature look equally far apart. Cold is a pale blue grey, hot a dark
// rust; lightness alone orders them, for eyes that see no hue and for paper.
var (
	coldEnd = lab{0.93, -0.012, -0.030}
	hotEnd  = lab{0.40, 0.100, 0.075}
)

func shade(i int) lab {
	t := float64(i) / (Shades - 1)
	mix := func(a, b float64) float64 { return a + t*(b-a) }
	return lab{mix(coldEnd.L, hotEnd.L), mix(coldEnd.A, hotEnd.A), mix(coldEnd.B, hotEnd.B)}
}

// rgb gives the colour in sRGB, 0..255. The matrices are those of B. Ottosson,
// "A perceptual color space for image processing" (2020), from memory; a test
// holds them to white, black and the primaries.
func (c lab) rgb() [3]int {
	l := cube(c.L + 0.3963377774*c.A + 0.2158037573*c.B)
	m := cube(c.L - 0.1055613458*c.A - 0.0638541728*c.B)
	s := cube(c.L - 0.0894841775*c.A - 1.2914855480*c.B)
	return [3]int{
		gamma(4.0767416621*l - 3.3077115913*m + 0.2309699292*s),
		gamma(-1.2684380046*l + 2.6097574011*m - 0.3413193965*s),
		gamma(-0.0041960863*l - 0.7034186147*m + 1.7076147010*s),
	}
}

func cube(x float64) float64 { return x * x * x }

// gamma is the transfer curve of sRGB (IEC 61966-2-1), to 0..255.
func gamma(x float64) int {
	x = max(0, min(1, x))
	if x <= 0.0031308 {
		x *= 12.92
	} else {
		x = 1.055*math.Pow(x, 1/2.4) - 0.055
	}
	return int(math.Round(x * 255))
}

// inkTurns is the lightness below which white ink is the more legible.
const inkTurns = 0.57

// CSS gives the scale as classes t0, t1, ... with the ink that is legible on
// each. It is the same by day and by night: a shade stands for a temperature.
func CSS() string {
	var b strings.Builder
	for i := range Shades {
		c := shade(i)
		ink := "#000000"
		if c.L < inkTurns {
			ink = "#ffffff"
		}
		rgb := c.rgb()
		fmt.Fprintf(&b, ".t%d{--shade:#%02x%02x%02x;--on-shade:%s}\n", i, rgb[0], rgb[1], rgb[2], ink)
	}
	return b.String()
}
