package drawing

import (
	"fmt"
	"math"
	"strings"
)

// grid is the sheet's own faint squares.
func (s *sheet) grid() {
	var d strings.Builder
	for x := s.cell; x < s.w; x += s.cell {
		fmt.Fprintf(&d, "M%g 0V%g", x, s.h)
	}
	for y := s.cell; y < s.h; y += s.cell {
		fmt.Fprintf(&d, "M0 %gH%g", y, s.w)
	}
	s.f(`<path class="grid" d="%s"/>`, d.String())
}

// box is an outlined part with the shade line of an inked sheet on its right and
// lower edge.
func (s *sheet) box(r rect, class string) {
	s.f(`<rect class="%s" x="%g" y="%g" width="%g" height="%g" rx="3"/>`, class, r.x, r.y, r.w, r.h)
	s.f(`<path class="shade" d="M%g %gV%gH%g"/>`, r.right(), r.y+3, r.bottom(), r.x+3)
}

// bend is a path through points with rounded corners.
func bend(points []point, radius float64) string {
	var d strings.Builder
	fmt.Fprintf(&d, "M%g %g", points[0].x, points[0].y)
	for i := 1; i < len(points)-1; i++ {
		a, b, c := points[i-1], points[i], points[i+1]
		in, out := math.Hypot(b.x-a.x, b.y-a.y), math.Hypot(c.x-b.x, c.y-b.y)
		r := min(radius, in/2, out/2)
		fmt.Fprintf(&d, "L%.1f %.1fQ%g %g %.1f %.1f", b.x+(a.x-b.x)*r/in, b.y+(a.y-b.y)*r/in, b.x, b.y, b.x+(c.x-b.x)*r/out, b.y+(c.y-b.y)*r/out)
	}
	last := points[len(points)-1]
	fmt.Fprintf(&d, "L%g %g", last.x, last.y)
	return d.String()
}

// pipe is a bent pipe: contour, what is in it, one light line, a clip at each end.
func (s *sheet) pipe(points []point, width float64, clips bool) {
	d := bend(points, width*1.6)
	s.f(`<path class="h0" stroke-width="%g" d="%s"/><path class="h1" stroke-width="%g" d="%s"/>`, width, d, width-4, d)
	if width > 14 {
		s.f(`<path class="shine" stroke-width="2" d="%s" transform="translate(0 %g)"/>`, d, -width/6)
	}
	if clips {
		s.clip(points[0], points[1], width)
		s.clip(points[len(points)-1], points[len(points)-2], width)
	}
}

// clip is a hose clip near an end.
func (s *sheet) clip(end, from point, width float64) {
	l := math.Hypot(from.x-end.x, from.y-end.y)
	x, y := end.x+(from.x-end.x)/l*width*.7, end.y+(from.y-end.y)/l*width*.7
	turn := math.Atan2(from.y-end.y, from.x-end.x) * 180 / math.Pi
	s.f(`<rect class="clamp" x="%.1f" y="%.1f" width="6" height="%g" transform="rotate(%.0f %.1f %.1f)"/>`, x-3, y-width/2-2, width+4, turn, x, y)
}

// part draws the part of a place.
func (s *sheet) part(place string) {
	switch place {
	case "upper-hose":
		s.pipe(s.upper, s.hose, true)
	case "lower-hose":
		s.pipe(s.lower, s.hose, true)
	case "radiator":
		s.drawRadiator()
	case "cap":
		s.drawCap()
	case "neck":
		x := s.radiator.right() - s.radiator.w*.06
		if s.car.Tank == "pressurised" { // the cap is on the tank; here the radiator has a plug to bleed it
			s.f(`<rect class="p2" x="%g" y="%g" width="12" height="9"/><path class="tick" d="M%g %gv-4m-4 0h8"/>`, x-6, s.radiator.y-7, x, s.radiator.y-7)
			return
		}
		s.f(`<rect class="p2" x="%g" y="%g" width="18" height="10"/>`, s.cap.x-9, s.cap.y-6)
	case "tank":
		s.drawTank()
	case "fan":
		s.drawFan()
	case "thermostat":
		s.drawThermostat()
	case "head":
		s.drawHead()
	case "engine":
		s.drawBlock()
	case "sensor":
		s.f(`<path class="p2" d="M%g %gv-14h8v14M%g %gh16v-8h-16z"/><path class="wire" d="M%g %gV%gH%g"/>`,
			s.sensor.x-4, s.sensor.y, s.sensor.x-8, s.sensor.y+8, s.sensor.x, s.sensor.y-14, s.gauge.y+4, s.gauge.x-6)
	case "gauge":
		r := s.hose * 1.3
		s.f(`<path class="p" d="M%g %gA%g %g 0 0 1 %g %gL%g %gA%g %g 0 0 0 %g %gZ"/><path class="needle" d="M%g %gL%g %g"/><circle class="dot" cx="%g" cy="%g" r="3"/>`,
			s.gauge.x-r, s.gauge.y-r*.35, r*1.1, r*1.1, s.gauge.x+r, s.gauge.y-r*.35, s.gauge.x+r*.6, s.gauge.y, r*.7, r*.7, s.gauge.x-r*.6, s.gauge.y,
			s.gauge.x, s.gauge.y+2, s.gauge.x+r*.3, s.gauge.y-r*.7, s.gauge.x, s.gauge.y+2)
	case "heater":
		s.drawHeater()
	case "pump":
		s.drawPump()
	case "belt":
		s.drawBelt()
	}
}

// driven tells whether the engine turns the fan, and not a motor.
func (c *CarView) driven() bool {
	switch c.Fan {
	case "viscous", "viscous-electric", "electric-clutch", "belt":
		return true
	}
	return false
}

// drawFan draws the shroud and its fans: with a motor, on the engine's shaft with a
// clutch between, or on the shaft alone.
func (s *sheet) drawFan() {
	r := s.fan
	s.box(r, "p")
	if s.car.Fan == "none" {
		return
	}
	n := 1
	if s.car.Fans > 1 && !s.car.driven() {
		n = 2
	}
	for i := range n {
		h := r.h / float64(n)
		s.wheel(r.x+r.w/2, r.y+h*(float64(i)+.5), min(r.w, h)*.45)
	}
	if s.car.driven() { // the shaft, hidden behind what lies before it
		s.f(`<path class="centre" d="M%g %gH%g"/>`, r.x+r.w/2, r.y+r.h/2, s.pump.x)
	}
}

func (s *sheet) wheel(x, y, radius float64) {
	s.f(`<circle class="well" cx="%g" cy="%g" r="%.1f"/>`, x, y, radius)
	for i := range 7 {
		s.f(`<path class="blade" transform="translate(%g %g) rotate(%.1f) scale(%.3f)" d="M-5 -12C-26 -34 -14 -64 8 -66C16 -46 14 -26 6 -11Z"/>`, x, y, float64(i)*360/7, radius/70)
	}
	switch {
	case s.car.Fan == "belt":
		s.f(`<circle class="p2" cx="%g" cy="%g" r="%.1f"/><circle class="dot" cx="%g" cy="%g" r="2.5"/>`, x, y, radius*.2, x, y)
	case s.car.driven(): // a clutch: its ribs and its spring
		s.f(`<circle class="p2" cx="%g" cy="%g" r="%.1f"/><circle class="detail" cx="%g" cy="%g" r="%.1f"/><path class="edge" d="%s"/>`,
			x, y, radius*.34, x, y, radius*.26, zigzag(x-radius*.17, y-radius*.09, radius*.34, radius*.18))
	case s.car.Fan == "hydraulic":
		s.f(`<circle class="p2" cx="%g" cy="%g" r="%.1f"/><path class="edge" d="M%.1f %.1fl%.1f %.1fv%.1fz"/>`, x, y, radius*.3, x-radius*.1, y, radius*.2, -radius*.12, radius*.24)
	default: // a motor, as circuit diagrams have it
		s.f(`<circle class="p2" cx="%g" cy="%g" r="%.1f"/><text class="motor" x="%g" y="%.1f" text-anchor="middle">M</text>`, x, y, radius*.3, x, y+5)
	}
}

// drawThermostat draws the housing with the valve on or off its seat; where it sits on
// the inlet, the engine's outlet is a plain elbow.
func (s *sheet) drawThermostat() {
	r := s.stat
	if s.car.Inlet {
		e := s.elbow
		s.f(`<path class="p" d="M%g %gL%g %gH%gV%gH%gL%g %gZ"/>`, e.x, e.y+e.h*.3, e.x+e.w*.35, e.y+e.h*.12, e.right(), e.bottom()-e.h*.12, e.x+e.w*.35, e.x, e.y+e.h*.7)
		s.box(r, "p")
		s.f(`<path class="edge" d="M%g %gH%g"/>`, r.right(), s.pump.y, s.pump.x-s.pumpR)
		y, off := r.y+r.h*.62, 0.
		if s.passes() == ThroughRadiator {
			off = -r.h * .2
		}
		s.f(`<path class="seat" d="M%g %gh%gM%g %gh%g"/><path class="valve" d="M%g %gh%g"/>`, r.x+2, y, r.w*.2, r.right()-2, y, -r.w*.2, r.x+r.w*.2, y+off, r.w*.6)
		return
	}
	s.f(`<path class="p" d="M%g %gL%g %gH%gV%gH%gL%g %gZ"/>`, r.x, r.y+r.h*.3, r.x+r.w*.35, r.y, r.right(), r.bottom(), r.x+r.w*.35, r.x, r.y+r.h*.7)
	s.f(`<path class="shade" d="M%g %gV%gH%g"/>`, r.right(), r.y+3, r.bottom(), r.x+r.w*.35)
	x, off := r.x+r.w*.52, 0.
	if s.passes() == ThroughRadiator {
		off = -r.w * .14
	}
	s.f(`<path class="seat" d="M%g %gv%gM%g %gv%g"/><path class="valve" d="M%g %gv%g"/><path class="detail" d="%s"/>`,
		x, r.y+2, r.h*.26, x, r.bottom()-2, -r.h*.26, x+off, r.y+r.h*.22, r.h*.56, zigzag(x+off, r.y+r.h*.36, r.w*.3, r.h*.28))
}

func (s *sheet) drawHead() {
	r := rect{s.block.x, s.block.y, s.block.w, s.block.h * .24}
	s.f(`<rect class="p jacket" x="%g" y="%g" width="%g" height="%g"/>`, r.x, r.y, r.w, r.h)
	s.f(`<path class="p" d="M%g %gq2 -16 10 -16h%gq8 0 10 16z"/>`, r.x+r.w*.06, r.y, r.w*.7-20)
	n, per := s.cylinders()
	for i := range n {
		x := r.x + per*(float64(i)+.5)
		s.f(`<path class="edge" d="M%.1f %gQ%.1f %g %.1f %gQ%.1f %g %.1f %g"/>`, x-per*.34, r.bottom(), x-per*.2, r.y+r.h*.3, x, r.y+r.h*.25, x+per*.2, r.y+r.h*.3, x+per*.34, r.bottom())
	}
	s.f(`<path class="gasket0" d="M%g %gH%g"/><path class="gasket" d="M%g %gH%g"/>`, r.x-3, r.bottom(), r.right()+3, r.x-3, r.bottom(), r.right()+3)
}

// cylinders are how many are drawn in a row, and how wide each is.
func (s *sheet) cylinders() (n int, each float64) {
	n = s.car.Cylinders
	if n < 2 || n > 8 {
		n = 4
	}
	if n > 6 {
		n = (n + 1) / 2 // one bank is seen
	}
	return n, s.block.w / float64(n)
}

func (s *sheet) drawBlock() {
	head := s.block.h * .24
	r := rect{s.block.x, s.block.y + head, s.block.w, s.block.h * .76}
	s.f(`<path class="p" d="M%g %gH%gL%g %gH%gZ"/>`, r.x+r.w*.08, r.bottom(), r.right()-r.w*.02, r.right()-r.w*.06, r.bottom()+r.h*.26, r.x+r.w*.14)
	s.f(`<rect class="p jacket" x="%g" y="%g" width="%g" height="%g"/>`, r.x, r.y, r.w, r.h)
	s.f(`<path class="shade" d="M%g %gV%g"/>`, r.right(), r.y+3, r.bottom())
	n, per := s.cylinders()
	for i := range n {
		x, w := r.x+per*(float64(i)+.5), per*.62
		down := r.h * []float64{.06, .3, .3, .06}[i%4]
		s.f(`<rect class="bore" x="%.1f" y="%g" width="%.1f" height="%.1f"/><rect class="p2" x="%.1f" y="%.1f" width="%.1f" height="%.1f" rx="2"/><path class="strut" d="M%.1f %.1fL%.1f %.1f"/>`,
			x-w/2, r.y, w, r.h*.6, x-w*.42, r.y+down, w*.84, r.h*.14, x, r.y+down+r.h*.14, x, r.y+r.h*.6)
	}
	s.f(`<rect class="p" x="%g" y="%g" width="%g" height="%g"/>`, r.x, r.y+r.h*.6, r.w, r.h*.4)
	s.f(`<path class="hidden-pipe" d="%s"/>`, bend(s.back[max(0, len(s.back)-2):], 4))
}

func (s *sheet) drawHeater() {
	r := s.heater
	s.pipe(s.out, s.pipe0(), false)
	s.pipe(s.back[:len(s.back)-1], s.pipe0(), false)
	s.box(r, "p")
	for i := range 4 {
		x := r.x + r.w*(.2+.2*float64(i))
		s.f(`<path class="fin" d="M%.1f %gV%g"/>`, x, r.y+6, r.bottom()-6)
	}
	if s.name == "desk" {
		for _, y := range []float64{.3, .7} {
			s.f(`<path class="air" d="M%g %.1fh18m-5 -4l5 4l-5 4"/>`, r.right()+6, r.y+r.h*y)
		}
	}
}

func (s *sheet) pipe0() float64 { return s.layout.pipe }

func (s *sheet) drawPump() {
	s.pipe(s.bypass, s.pipe0(), false)
	s.f(`<circle class="p" cx="%g" cy="%g" r="%g"/>`, s.pump.x, s.pump.y, s.pumpR)
	if s.car.Pump == "none" { // the coolant rises by itself
		s.f(`<path class="edge" d="M%g %gq%g %g %g %g"/>`, s.pump.x-s.pumpR*.6, s.pump.y+s.pumpR*.3, s.pumpR*.6, -s.pumpR*.1, s.pumpR*1.2, -s.pumpR*.7)
		return
	}
	s.f(`<circle class="inner" cx="%g" cy="%g" r="%.1f"/>`, s.pump.x, s.pump.y, s.pumpR*.78)
	for i := range 6 {
		s.f(`<path class="vane" transform="translate(%g %g) rotate(%d) scale(%.2f)" d="M5 -3C9 -12 8 -18 2 -24"/>`, s.pump.x, s.pump.y, i*60, s.pumpR/34)
	}
	if s.car.Pump == "electric" {
		s.f(`<circle class="p2" cx="%g" cy="%g" r="9"/><text class="motor" x="%g" y="%g" text-anchor="middle">M</text>`, s.pump.x, s.pump.y, s.pump.x, s.pump.y+5)
		return
	}
	s.f(`<circle class="dot" cx="%g" cy="%g" r="3"/>`, s.pump.x, s.pump.y)
}

// drawBelt draws the belt from the crank to the pump; where the belt does not turn
// the pump, to a pulley of its own.
func (s *sheet) drawBelt() {
	a, b, ra, rb := s.pump, s.crank, s.pumpR, s.crankR
	if s.car.Pump == "electric" || s.car.Pump == "none" {
		a, ra = point{b.x - rb*2.4, b.y - rb*.9}, rb*.6
		s.f(`<circle class="p" cx="%.1f" cy="%.1f" r="%.1f"/><circle class="dot" cx="%.1f" cy="%.1f" r="2"/>`, a.x, a.y, ra, a.x, a.y)
	}
	dx, dy := b.x-a.x, b.y-a.y
	l := math.Hypot(dx, dy)
	nx, ny := -dy/l, dx/l
	d := fmt.Sprintf("M%.1f %.1fL%.1f %.1fM%.1f %.1fL%.1f %.1f", a.x+nx*ra, a.y+ny*ra, b.x+nx*rb, b.y+ny*rb, a.x-nx*ra, a.y-ny*ra, b.x-nx*rb, b.y-ny*rb)
	s.f(`<circle class="p" cx="%g" cy="%g" r="%g"/><circle class="inner" cx="%g" cy="%g" r="%.1f"/><circle class="dot" cx="%g" cy="%g" r="2.5"/>`, b.x, b.y, rb, b.x, b.y, rb*.62, b.x, b.y)
	teeth := "belt1"
	if s.car.Pump == "timing-belt" {
		teeth = "belt1 toothed"
	}
	s.f(`<path class="belt0" d="%s"/><path class="%s" d="%s"/>`, d, teeth, d)
}

// key is the scale of the temperatures.
func (s *sheet) key() {
	r := s.scale
	step := r.w / Shades
	s.f(`<g class="key" aria-hidden="true">`)
	for i := range Shades {
		s.f(`<rect class="swatch t%d" x="%.1f" y="%g" width="%.1f" height="%g"/>`, i, r.x+step*float64(i), r.y, step+.3, r.h)
	}
	s.f(`<rect class="frame" x="%g" y="%g" width="%g" height="%g"/>`, r.x, r.y, r.w, r.h)
	marks, unit, inC := []float64{0, 30, 60, 90, 120}, "°C", func(v float64) float64 { return v }
	if s.car.US {
		marks, unit, inC = []float64{40, 100, 150, 200, 250}, "°F", func(v float64) float64 { return (v - 32) / 1.8 }
	}
	for i, v := range marks {
		text := fmt.Sprint(v)
		if i == len(marks)-1 {
			text += " " + unit
		}
		s.f(`<text class="sm" x="%.1f" y="%g" text-anchor="middle">%s</text>`, r.x+r.w*(inC(v)-scaleLowC)/(scaleHighC-scaleLowC), r.bottom()+16, text)
	}
	s.f(`<text class="sm" x="%g" y="%g">solid: measured. pale: not measured yet</text></g>`, r.x, r.bottom()+32)
}
