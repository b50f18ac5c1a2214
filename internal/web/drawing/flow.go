package drawing

import "math"

// passes is the way of the coolant: what was said of it, else by the upper hose. Above
// hoseHot coolant must have passed the thermostat. Judgement: thermostats begin to
// open at 70 °C at the least.
func (s *sheet) passes() Flow {
	m := s.marks["upper-hose"]
	switch {
	case s.car.Flow != FlowUnknown || !m.Known:
		return s.car.Flow
	case m.TempC >= hoseHot:
		return ThroughRadiator
	}
	return ThroughBypass
}

const hoseHot = 65 // degC

// flow draws arrows where coolant was found to flow: through the hoses where the
// thermostat is open, else through the bypass; through the heater where that gives heat.
// Arrows of the air are
// dashed where it is not known to move, and gone where the fan stands.
func (s *sheet) flow() {
	s.f(`<g class="flow" aria-hidden="true">`)
	switch s.passes() {
	case ThroughRadiator:
		s.arrows(backwards(s.upper), onShade(s.marks["upper-hose"]))
		s.arrows(s.lower, onShade(s.marks["lower-hose"]))
		s.across()
	case ThroughBypass:
		s.arrows(s.bypass, "")
	}
	if s.car.Heater {
		s.f(`<g class="through-heater">`)
		s.arrows(s.out, "")
		s.f(`</g>`)
	}
	s.f(`</g>`)
	if s.car.Air == AirStill {
		return
	}
	const least = 14 // that an arrow takes
	class, gap := "air", s.fan.x-s.radiator.right()-6
	if gap < least {
		return
	}
	if s.car.Air == AirUnknown {
		class += " by-fan"
	}
	for _, y := range []float64{.3, .5, .7} {
		s.f(`<path class="%s" d="M%g %.1fh%gm-5 -4l5 4l-5 4"/>`, class, s.radiator.right()+3, s.radiator.y+s.radiator.h*y, min(24, gap))
	}
}

// onShade is the class of an arrow on a hose: light where the hose is filled with a
// shade.
func onShade(m Mark) string {
	if m.Known {
		return "on"
	}
	return ""
}

// across are the arrows through the core.
func (s *sheet) across() {
	r := s.radiator
	for _, t := range []float64{.3, .7} {
		if s.car.Radiator == "downflow" {
			s.arrows([]point{{r.x + r.w*t, r.y + r.h*.4}, {r.x + r.w*t, r.y + r.h*.6}}, "")
		} else {
			s.arrows([]point{{r.x + r.w*.4, r.y + r.h*t}, {r.x + r.w*.6, r.y + r.h*t}}, "")
		}
	}
}

func backwards(points []point) []point {
	out := make([]point, 0, len(points))
	for i := len(points) - 1; i >= 0; i-- {
		out = append(out, points[i])
	}
	return out
}

// arrows puts a chevron into the middle of every longer stretch.
func (s *sheet) arrows(points []point, class string) {
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		l := math.Hypot(b.x-a.x, b.y-a.y)
		for n, count := 0, int(l/s.hose/1.9); n < count; n++ {
			t := (float64(n) + .5) / float64(count)
			s.f(`<path class="%s" transform="translate(%.1f %.1f) rotate(%.0f)" d="M-3 -5L3 0L-3 5"/>`, class, a.x+(b.x-a.x)*t, a.y+(b.y-a.y)*t, math.Atan2(b.y-a.y, b.x-a.x)*180/math.Pi)
		}
	}
}
