package events

import "math"

// Contact tells how often a reading stepped in a way that no coolant can: the
// mark of a loose plug, a broken wire or a bad ground.
type Contact struct {
	Jumps int      // steps
	Size  Estimate // K, mean size of a step; NaN without one
	Share float64  // share of the readings that do not fit the rest, 0..1
	Hours float64  // h, time that the readings cover
	Odd   int      // the readings that do not fit
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
	contact := Contact{Size: Estimate{nan, nan}}
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

// leaps tells whether coolant cannot step from a to b within dt seconds.
func leaps(a, b, dt float64) bool {
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
			any = any || leaps(c[last], x, dt)
		}
		last = i
	}
	return any
}

// stretches cuts the readings at their jumps and counts those. A jump that
// takes two rows because a mean was taken over it counts once.
func stretches(time, c []float64, contact *Contact) []stretch {
	var parts []stretch
	var size tallied
	last, lastJump, lastStep := -1, -1, 0.0
	for i, x := range c {
		if math.IsNaN(x) {
			continue
		}
		switch {
		case last < 0:
			parts = append(parts, stretch{i, i, 1})
		case leaps(c[last], x, time[i]-time[last]):
			step := x - c[last]
			if lastJump == last && step*lastStep > 0 {
				size.s += math.Abs(step)
			} else {
				contact.Jumps++
				size.add(math.Abs(step), 1)
			}
			lastJump, lastStep = i, step
			parts = append(parts, stretch{i, i, 1})
		default:
			p := &parts[len(parts)-1]
			p.to, p.n = i, p.n+1
		}
		last = i
	}
	if size.w > 0 {
		contact.Size = Estimate{size.mean(), math.Hypot(readingStep, size.deviation()) / math.Sqrt(size.w)}
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

// into puts the contact's numbers beside the others. A count has the spread of
// a Poisson count; none at all still leaves room for one.
func (k Contact) into(n *Numbers) {
	if k.Hours <= 0 {
		return
	}
	n[Jumps] = Estimate{float64(k.Jumps) / k.Hours, math.Sqrt(math.Max(1, float64(k.Jumps))) / k.Hours}
	n[JumpSize] = k.Size
	n[JumpShare] = Estimate{k.Share, math.Sqrt(math.Max(1, float64(k.Odd))) / math.Max(1, k.Hours*3600)}
}
