package coolant

import (
	"fmt"
	"math"
)

// Drain-and-refill arithmetic. Volumes are added as if nothing contracted on mixing (true
// within 1 %). What drains has the mix's own strength, and the rest mixes perfectly with
// what is filled in. So between two refills run the engine until the heater is hot, then
// cool down. All volumes in one unit of the caller's choice; all strengths are volume
// fractions of glycol, 0 to 1.

// Refill is what to do to bring a system to a target strength.
type Refill struct {
	Drains int     // drain-and-refills needed; 0 when the mix is right already
	Drain  float64 // to drain each time, and to fill in again
	Fill   float64 // strength of what is filled in
	After  float64 // strength in the end
}

// DrainToReach is the volume to drain from a full system and replace by a mix of strength
// fill, once, so that strength now becomes target:
//
//	drain = volume (target - now) / (fill - now)
//
// It is an error when target does not lie between now and fill.
func DrainToReach(volume, now, target, fill float64) (float64, error) {
	const operation = "drain to reach a strength"
	if err := checkSystem(volume, now, target, fill); err != nil {
		return 0, fmt.Errorf("%s: %w", operation, err)
	}
	if target == now {
		return 0, nil
	}
	share := (target - now) / (fill - now)
	if !(share > 0 && share <= 1) {
		return 0, fmt.Errorf("%s: filling with %.3g cannot bring %.3g to %.3g; fill with something beyond the target",
			operation, fill, now, target)
	}
	return volume * share, nil
}

// TopUp is the strength after adding a volume of strength fill to a part-filled system that
// holds the volume held of strength now.
func TopUp(held, now, added, fill float64) (float64, error) {
	if err := checkSystem(held+added, now, 0, fill); err != nil {
		return 0, fmt.Errorf("top up: %w", err)
	}
	if !(held >= 0 && added >= 0) {
		return 0, fmt.Errorf("top up: volumes %g and %g; neither may be negative", held, added)
	}
	return (held*now + added*fill) / (held + added), nil
}

// AfterDrains is the strength after n drain-and-refills, each of which replaces the share
// drained (0 to 1) of the system's volume by a mix of strength fill:
//
//	c(n) = fill + (c(0) - fill) (1 - drained)^n
func AfterDrains(now, fill, drained float64, n int) (float64, error) {
	const operation = "strength after drains"
	if err := checkSystem(1, now, 0, fill); err != nil {
		return 0, fmt.Errorf("%s: %w", operation, err)
	}
	if !(drained >= 0 && drained <= 1) || n < 0 {
		return 0, fmt.Errorf("%s: %d drains of the share %g; the share lies between 0 and 1, the number is not negative",
			operation, n, drained)
	}
	return fill + (now-fill)*math.Pow(1-drained, float64(n)), nil
}

// mostDrains is where repeating stops being a plan: past it, flushing with a machine or
// opening the block drain is the better way (judgement).
const mostDrains = 20

// PlanRefill finds the fewest equal drain-and-refills that bring a full system of the given
// volume from strength now to target, when at most the volume drainable comes out at a time
// and the strength fill is filled in. When filling with fill overshoots in n drains, each
// drain is made smaller so that the last one lands on the target.
//
// fill must lie beyond target, seen from now; a fill equal to the target is approached but
// never reached, and an error says so.
func PlanRefill(volume, drainable, now, target, fill float64) (Refill, error) {
	const operation = "plan a refill"
	if err := checkSystem(volume, now, target, fill); err != nil {
		return Refill{}, fmt.Errorf("%s: %w", operation, err)
	}
	if !(drainable > 0 && drainable <= volume) {
		return Refill{}, fmt.Errorf("%s: drainable volume %g is outside 0 to the system's volume %g", operation, drainable, volume)
	}
	if now == target {
		return Refill{Fill: fill, After: now}, nil
	}
	if drainable == volume && fill == target {
		return Refill{Drains: 1, Drain: volume, Fill: fill, After: fill}, nil
	}
	left := (target - fill) / (now - fill) // share of the first strength's surplus that may remain
	if !(left > 0 && left < 1) {
		return Refill{}, fmt.Errorf("%s: filling with %.3g cannot bring %.3g to %.3g; fill with something beyond the target",
			operation, fill, now, target)
	}
	most := drainable / volume
	n := 1
	if most < 1 {
		// The tolerance keeps a drain that just suffices from being called too small.
		n = max(1, int(math.Ceil(math.Log(left)/math.Log1p(-most)-1e-9)))
	}
	if n > mostDrains {
		return Refill{}, fmt.Errorf("%s: it would take %d drain-and-refills of %.3g; drain more at a time", operation, n, drainable)
	}
	each := 1 - math.Pow(left, 1/float64(n))
	return Refill{Drains: n, Drain: volume * min(each, most), Fill: fill, After: target}, nil
}

// DrainsToRenew is the number of drain-and-refills after which the share renewed (0 to below
// 1) of the system's coolant is new, when each replaces the share drained (above 0 to 1):
// the least n with 1 - (1 - drained)^n >= renewed.
func DrainsToRenew(drained, renewed float64) (int, error) {
	const operation = "drains to renew"
	if !(drained > 0 && drained <= 1) {
		return 0, fmt.Errorf("%s: drained share %g is outside 0 to 1", operation, drained)
	}
	if !(renewed >= 0 && renewed < 1) {
		return 0, fmt.Errorf("%s: renewed share %g is outside 0 to below 1; refilling never renews all", operation, renewed)
	}
	if drained == 1 {
		return min(1, int(math.Ceil(renewed))), nil
	}
	n := math.Ceil(math.Log1p(-renewed)/math.Log1p(-drained) - 1e-9)
	if n > mostDrains {
		return 0, fmt.Errorf("%s: it would take %.0f drain-and-refills; drain more at a time", operation, n)
	}
	return int(max(n, 0)), nil
}

func checkSystem(volume, now, target, fill float64) error {
	if !(volume > 0) || math.IsInf(volume, 0) {
		return fmt.Errorf("volume %g of the system; it must be above 0", volume)
	}
	for _, strength := range []float64{now, target, fill} {
		if !(strength >= 0 && strength <= 1) {
			return fmt.Errorf("strength %g is outside 0 to 1", strength)
		}
	}
	return nil
}
