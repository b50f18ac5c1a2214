// Package contact finds the readings of a sensor with a loose contact: steps
// that no coolant can make, and the readings between them that do not fit.
//
// Model: readings are cut at their jumps into stretches. Of all chains of
// stretches that coolant could have followed, the one with the most readings is
// the coolant; the rest is the contact's doing. It stops being true where the
// contact is bad for more than half of the time.
package contact

import "math"

var nan = math.NaN()

// Contact tells how often a reading stepped in a way that no coolant can: the
// mark of a loose plug, a broken wire or a bad ground.
type Contact struct {
	Jumps     int     // steps
	Size      float64 // K, mean size of a step; NaN without one
	SizeSigma float64 // K, its standard uncertainty
	Share     float64 // share of the readings that do not fit the rest, 0..1
	Hours     float64 // h, time that the readings cover
	Odd       int     // the readings that do not fit
}

// Steps of a sensor's reading, in K and s; judgement. Coolant's own heat moves
// it by 2 K/s at most, a slug of cold coolant by a few K within the sensor's lag.
// On the thirteen open logs, 11 hours at one row a second, no two neighbouring
// readings lie further apart than stepAllowed.
const (
	stepAllowed = 2.0
	stepPerS    = 0.6
	linkPerS    = 0.25 // K/s, how far the coolant may have moved meanwhile
	linkMost    = 20.0
	linkBack    = 40   // stretches looked back over
	silence     = 60.0 // s; a step over a longer silence says nothing
	believed    = 0.4  // least share of readings that must fit together
	bridgeOver  = 60.0 // s
	readingStep = 0.29 // K, standard uncertainty of a whole-degree reading (1/sqrt(12))
)

// stretch is a run of readings without a jump between neighbours.
type stretch struct {
	from, to int // rows, inclusive; readings at both ends
	n        int // readings
}

// Clean finds jumps and takes out the readings between them that do not fit the
// rest. It returns the readings themselves if nothing jumps. Of all chains of
// stretches that coolant could have followed it keeps the one with the most
// readings; short gaps that this leaves are bridged by a straight line.
func Clean(time, coolant []float64) ([]float64, Contact) {
	contact := Contact{Size: nan, SizeSigma: nan}
	if !jumps(time, coolant, &contact) {
		return coolant, contact
	}
	parts := stretches(time, coolant, &contact)
	keep, total := chain(time, coolant, parts)
	kept := 0
	for _, p := range keep {
		kept += p.n
	}
	if contact.Jumps < 2 || float64(kept) < believed*float64(total) {
		return coolant, contact // one lasting step, or nothing that holds together
	}
	contact.Odd = total - kept
	contact.Share = float64(contact.Odd) / float64(total)
	out := make([]float64, len(coolant))
	for i := range out {
		out[i] = nan
	}
	last := -1
	for _, p := range keep {
		copy(out[p.from:p.to+1], coolant[p.from:p.to+1])
		if last >= 0 && time[p.from]-time[last] <= bridgeOver {
			for k := last + 1; k < p.from; k++ {
				f := (time[k] - time[last]) / (time[p.from] - time[last])
				out[k] = out[last]*(1-f) + out[p.from]*f
			}
		}
		last = p.to
	}
	return out, contact
}

// Leaps tells whether coolant cannot step from a to b within dt seconds.
func Leaps(a, b, dt float64) bool {
	return dt <= silence && math.Abs(b-a) > stepAllowed+stepPerS*dt
}

// jumps tells whether anything leaps, and how long the readings last.
func jumps(time, c []float64, contact *Contact) bool {
	last, any := -1, false
	for i, x := range c {
		if math.IsNaN(x) {
			continue
		}
		if last >= 0 {
			dt := time[i] - time[last]
			contact.Hours += math.Min(dt, silence) / 3600
			any = any || Leaps(c[last], x, dt)
		}
		last = i
	}
	return any
}

// stretches cuts the readings at their jumps and counts those. A jump that
// takes two rows because a mean was taken over it counts once.
func stretches(time, c []float64, contact *Contact) []stretch {
	var parts []stretch
	var size struct{ n, s, ss float64 }
	last, lastJump, lastStep := -1, -1, 0.0
	for i, x := range c {
		if math.IsNaN(x) {
			continue
		}
		switch {
		case last < 0:
			parts = append(parts, stretch{i, i, 1})
		case Leaps(c[last], x, time[i]-time[last]):
			step := x - c[last]
			if lastJump == last && step*lastStep > 0 {
				size.s += math.Abs(step)
			} else {
				contact.Jumps++
				size.n++
				size.s += math.Abs(step)
				size.ss += step * step
			}
			lastJump, lastStep = i, step
			parts = append(parts, stretch{i, i, 1})
		default:
			p := &parts[len(parts)-1]
			p.to, p.n = i, p.n+1
		}
		last = i
	}
	if size.n > 0 {
		mean := size.s / size.n
		contact.Size, contact.SizeSigma = mean, math.Hypot(readingStep, math.Sqrt(math.Max(0, size.ss/size.n-mean*mean)))/math.Sqrt(size.n)
	}
	return parts
}

// chain is the sequence of stretches with the most readings along which coolant
// could have moved.
func chain(time, c []float64, parts []stretch) (keep []stretch, total int) {
	best := make([]int, len(parts))
	from := make([]int, len(parts))
	top := 0
	for q, p := range parts {
		total += p.n
		best[q], from[q] = p.n, -1
		for b := q - 1; b >= 0 && b >= q-linkBack; b-- {
			dt := time[p.from] - time[parts[b].to]
			allowed := math.Min(stepAllowed+linkPerS*dt, linkMost)
			if dt > silence*10 {
				allowed = math.Inf(1) // after such a silence anything may follow
			}
			if math.Abs(c[p.from]-c[parts[b].to]) <= allowed && best[b]+p.n > best[q] {
				best[q], from[q] = best[b]+p.n, b
			}
		}
		if best[q] > best[top] {
			top = q
		}
	}
	for q := top; q >= 0 && len(parts) > 0; q = from[q] {
		keep = append(keep, parts[q])
	}
	for i, j := 0, len(keep)-1; i < j; i, j = i+1, j-1 {
		keep[i], keep[j] = keep[j], keep[i]
	}
	return keep, total
}
