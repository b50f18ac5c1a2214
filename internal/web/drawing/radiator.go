package drawing

import (
	"fmt"
	"strings"
)

// drawRadiator draws the core between its two tanks, which stand left and right, or
// above and below where the coolant falls through it. The core is shaded from its hot
// to its cold side where both hoses were read.
func (s *sheet) drawRadiator() {
	r, down := s.radiator, s.car.Radiator == "downflow"
	side := r.w * .11
	core, first, last := rect{r.x + side, r.y + 8, r.w - 2*side, r.h - 16}, rect{r.x, r.y, side, r.h}, rect{r.right() - side, r.y, side, r.h}
	if down {
		core, first, last = rect{r.x + 6, r.y + side, r.w - 12, r.h - 2*side}, rect{r.x, r.y, r.w, side}, rect{r.x, r.bottom() - side, r.w, side}
	}
	hot, cold := s.marks["upper-hose"], s.marks["lower-hose"]
	paint := `class="tube2"`
	if hot.Known && cold.Known {
		x2, y2 := 1, 0
		if down {
			x2, y2 = 0, 1
		}
		s.f(`<defs><linearGradient id="core-%s" gradientUnits="userSpaceOnUse" x1="%g" y1="%g" x2="%g" y2="%g"><stop class="stop t%d" offset="0"/><stop class="stop t%d" offset="1"/></linearGradient></defs>`,
			s.id, core.x, core.y, core.x+core.w*float64(x2), core.y+core.h*float64(y2), Shade(hot.TempC), Shade(cold.TempC))
		paint = fmt.Sprintf(`class="tube" fill="url(#core-%s)"`, s.id)
	}
	if down {
		s.columns(core, paint)
	} else {
		s.rows(core, paint)
	}
	if y := s.radiatorLevel(core); y > core.y {
		s.f(`<rect class="dry" x="%g" y="%g" width="%g" height="%.1f"/><path class="level" stroke-dasharray="6 3" d="M%g %.1fH%g"/>`, core.x, core.y, core.w, y-core.y, core.x, y, core.right())
	}
	for _, t := range []struct {
		r rect
		m Mark
	}{{first, hot}, {last, cold}} {
		class := "p"
		if t.m.Known {
			class += fmt.Sprintf(" filled t%d", Shade(t.m.TempC))
		}
		s.box(t.r, class)
	}
}

// rows are tubes that lie, with fins between them.
func (s *sheet) rows(core rect, paint string) {
	const n = 9
	step := core.h / n
	for i := range n {
		y := core.y + step*float64(i)
		s.f(`<rect %s x="%g" y="%.1f" width="%g" height="%.1f"/>`, paint, core.x, y+step*.3, core.w, step*.34)
		if i < n-1 {
			s.f(`<path class="fin" d="%s"/>`, zigzag(core.x, y+step*.64, core.w, step*.66))
		}
	}
}

// columns are tubes that stand.
func (s *sheet) columns(core rect, paint string) {
	const n = 10
	step := core.w / n
	for i := range n {
		x := core.x + step*float64(i)
		s.f(`<rect %s x="%.1f" y="%g" width="%.1f" height="%g"/>`, paint, x+step*.3, core.y, step*.34, core.h)
		if i < n-1 {
			s.f(`<g transform="rotate(90 %.1f %g)"><path class="fin" d="%s"/></g>`, x+step*1.3, core.y, zigzag(x+step*1.3, core.y, core.h, step*.66))
		}
	}
}

// radiatorLevel is how high the coolant stands in the core, as it was found: where it
// is low, the upper tubes are dry. Which share of them is judgement.
func (s *sheet) radiatorLevel(core rect) float64 {
	switch s.car.Level {
	case LevelLow:
		return core.y + core.h*.14
	case LevelEmpty:
		return core.y + core.h*.45
	}
	return core.y
}

// zigzag is a row of fins.
func zigzag(x, y, w, h float64) string {
	var d strings.Builder
	fmt.Fprintf(&d, "M%g %.1f", x, y+h)
	n := int(w / 7)
	for i := 1; i <= n; i++ {
		at := y
		if i%2 == 0 {
			at = y + h
		}
		fmt.Fprintf(&d, "L%.1f %.1f", x+w*float64(i)/float64(n), at)
	}
	return d.String()
}

func (s *sheet) drawCap() {
	x, y := s.cap.x, s.cap.y-6
	s.f(`<path class="p" d="M%g %gh26v-7h-26zM%g %gh14v-5h-14z"/>`, x-13, y-2, x-7, y-9)
	for _, dx := range []float64{-8, -3, 3, 8} {
		s.f(`<path class="detail" d="M%g %gv-7"/>`, x+dx, y-2)
	}
	if s.car.Tank == "pressurised" { // a thin hose lets air from the radiator into the tank
		s.thin([]point{{s.radiator.right() - s.radiator.w*.06, s.radiator.y + 4}, {s.tank.x - 10, s.radiator.y + 4}, {s.tank.x - 10, s.tank.y + 14}, {s.tank.x + 2, s.tank.y + 14}})
		return
	}
	s.thin([]point{{x + 9, y + 4}, {s.tank.x - 8, y + 4}, {s.tank.x - 8, s.tank.bottom() - 8}, {s.tank.x, s.tank.bottom() - 8}})
}

// thin is a thin hose.
func (s *sheet) thin(points []point) {
	d := bend(points, 6)
	s.f(`<path class="tube0" d="%s"/><path class="tube1" d="%s"/>`, d, d)
}

// levels are how full the tank is drawn by what was found there, as a share: judgement.
var levels = map[Level]float64{LevelUnknown: .5, LevelFull: .62, LevelLow: .2, LevelEmpty: .04}

func (s *sheet) drawTank() {
	r := s.tank
	if s.car.Tank == "pressurised" { // from its foot to the lower hose
		x := r.x + r.w*.3
		s.thin([]point{{x, r.bottom() - 2}, {x, s.fan.y - 8}, {s.radiator.right() + 6, s.fan.y - 8}, {s.radiator.right() + 6, s.lower[0].y - 6}, {s.radiator.right() + 14, s.lower[0].y - 2}})
	}
	y := r.bottom() - r.h*levels[s.car.Level]
	foot := min(y, r.bottom()-8)
	s.f(`<rect class="p" x="%g" y="%g" width="%g" height="%g" rx="7"/><path class="liquid" d="M%g %.1fH%gV%gQ%g %g %g %gH%gQ%g %g %g %gZ"/>`,
		r.x, r.y, r.w, r.h, r.x+2, foot, r.right()-2, r.bottom()-7, r.right()-2, r.bottom()-2, r.right()-8, r.bottom()-2, r.x+8, r.x+2, r.bottom()-2, r.x+2, r.bottom()-7)
	dash := ""
	if s.car.Level == LevelUnknown {
		dash = ` stroke-dasharray="4 3"`
	}
	s.f(`<path class="level" d="M%g %.1fH%g"%s/><path class="tick" d="M%g %gh8M%g %gh8"/>`, r.x+2, foot, r.right()-2, dash, r.x+4, r.bottom()-r.h*.7, r.x+4, r.bottom()-r.h*.38)
	if s.car.Tank != "pressurised" {
		s.f(`<rect class="p2" x="%g" y="%g" width="%g" height="6"/>`, r.x+r.w*.28, r.y-6, r.w*.44)
	}
	s.f(`<path class="shade" d="M%g %gV%g"/>`, r.right(), r.y+8, r.bottom()-8)
}
