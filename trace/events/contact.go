package events

import (
	"math"

	"weephole/trace/internal/contact"
)

// Contact tells how often a reading stepped in a way that no coolant can: the
// mark of a loose plug, a broken wire or a bad ground.
type Contact = contact.Contact

// Clean finds jumps and takes out the readings between them that do not fit the
// rest. It returns the readings themselves if nothing jumps. Time in s, coolant
// in degC.
func Clean(time, coolant []float64) ([]float64, Contact) { return contact.Clean(time, coolant) }

// putContact puts the contact's numbers beside the others. A count has the spread of
// a Poisson count; none at all still leaves room for one.
func putContact(k Contact, n *RunNumbers) {
	if k.Hours <= 0 {
		return
	}
	n[Jumps] = Estimate{float64(k.Jumps) / k.Hours, math.Sqrt(math.Max(1, float64(k.Jumps))) / k.Hours}
	n[JumpSize] = Estimate{k.Size, k.SizeSigma}
	n[JumpShare] = Estimate{k.Share, math.Sqrt(math.Max(1, float64(k.Odd))) / math.Max(1, k.Hours*3600)}
}
