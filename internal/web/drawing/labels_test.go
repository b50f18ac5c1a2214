package drawing

import "testing"

// letter is the mean width of a letter of the drawing's type, as a share of its size:
// measured on the page's usual fonts, rounded up.
const letter = 0.56

// lettering is where a place's name stands, and a word of six letters beneath it.
func (l *layout) lettering(p spot, name string) (out [2]rect) {
	size := 15.0
	if l.cell < 20 {
		size = 14
	}
	y := p.text.y
	if p.above {
		y -= l.line
	}
	for i, letters := range []int{len(name), 6} {
		w, x := size*letter*float64(letters), p.text.x
		switch p.anchor {
		case "middle":
			x -= w / 2
		case "end":
			x -= w
		}
		out[i] = rect{x, y + l.line*float64(i) - size*.8, w, size * .9}
	}
	return out
}

func cuts(a, b rect) bool {
	return a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom()
}

// A word that stands on a part is read as a word about that part.
func TestNoLetteringStandsOnAnotherPart(t *testing.T) {
	for _, l := range compositions() {
		for _, a := range Places() {
			p, ok := l.spots[a]
			if !ok {
				continue
			}
			for _, at := range l.lettering(p, a) {
				if at.x < 0 || at.right() > l.w {
					t.Errorf("%s: the lettering of the %s sticks out of the sheet", l.name, a)
				}
				for _, b := range []string{"radiator", "fan", "tank", "thermostat", "pump", "heater"} {
					if q := l.spots[b]; a != b && cuts(at, q.frame) {
						t.Errorf("%s: the lettering of the %s stands on the %s", l.name, a, b)
					}
				}
			}
		}
	}
}

// Nor may two names run into each other.
func TestNoLetteringRunsIntoAnother(t *testing.T) {
	for _, l := range compositions() {
		l.pairs(func(a, b string, p, q spot) {
			for _, x := range l.lettering(p, a) {
				for _, y := range l.lettering(q, b) {
					if cuts(x, y) {
						t.Errorf("%s: the lettering of %s and %s", l.name, a, b)
					}
				}
			}
		})
	}
}

// The word over the next place's name stands neither on its frame nor, moved down for
// that, on another name.
func TestTheNextPlacesNameKeepsClearOfItsFrame(t *testing.T) {
	for _, l := range compositions() {
		s := sheet{layout: l}
		for a, p := range l.spots {
			down := s.clearOfHalo(p)
			p.text.y += down
			word := rect{l.lettering(p, a)[0].x, p.text.y - l.line - letterHeight*l.line, 14 * letter * float64(len("next")), letterHeight * l.line}
			if p.plate.w == 0 && !p.above && cuts(word, rect{p.frame.x, p.frame.bottom() - 1, p.frame.w, 2}) {
				t.Errorf("%s: \"next\" stands on the frame of the %s", l.name, a)
			}
			for b, q := range l.spots {
				for _, x := range l.lettering(p, a) {
					for _, y := range l.lettering(q, b) {
						if a != b && down > 0 && cuts(x, y) {
							t.Errorf("%s: the lettering of %s, which is next, and %s", l.name, a, b)
						}
					}
					if x.bottom() > l.h {
						t.Errorf("%s: the lettering of %s, which is next, leaves the sheet", l.name, a)
					}
				}
			}
		}
	}
}
