package cause

// cureRow is a repair's effect on one cause, resolved to indexes.
type cureRow struct {
	cause  int
	sites  uint64 // bit set; all ones when any
	states [MaxHidden]uint64
	share  float64
}

// pumpDrives are the words of a job file for what drives the coolant pump.
var pumpDrives = [...]string{"belt", "timing-belt", "electric"}

// On is the repair as it is on a car whose coolant pump is driven so; the repair itself
// where that makes no difference or is not known.
func (r *Repair) On(pump string) *Repair {
	for i, d := range r.Drives {
		if d.Pump == pump {
			return &r.on[i]
		}
	}
	return r
}

// Drained is true of a repair that lets the coolant out, fills up and bleeds: set-up in
// repairs.yaml. Two such repairs share a drain when they are done together.
func (r *Repair) Drained() bool { return r.SetUp == "drained" }

// CureShare is the probability that the repair, done properly with a good part,
// puts right what is present.
func (r *Repair) CureShare(p Present) float64 {
	best := 0.0
	for i := range r.cure {
		row := &r.cure[i]
		if row.cause != p.Cause || row.share <= best {
			continue
		}
		if p.Site >= 0 && row.sites&(1<<uint(p.Site)) == 0 {
			continue
		}
		fits := true
		for h, set := range row.states {
			if set&(1<<uint(p.Hidden[h])) == 0 {
				fits = false
			}
		}
		if fits {
			best = row.share
		}
	}
	return best
}

// Succeeds is the probability that the repair puts right what is present,
// counting bad parts and botched work.
func (r *Repair) Succeeds(c *Catalogue, p Present) float64 {
	ok := r.CureShare(p) * (1 - r.Botched.Value)
	if !r.NoPart {
		ok *= 1 - c.PartBad.Value
	}
	return ok
}

// Fills is true for a repair after which the cooling system is full: it is drained on the way.
func (r *Repair) Fills() bool { return r.SetUp == "drained" }

// Says is the probability that a mechanic or owner says o of a visit with that effect.
// Causes that remain but are eased count as some of them gone.
func (t *Tried) Says(o Change, e Effect) float64 {
	row := &t.None
	switch {
	case e.Gone >= e.Had:
		row = &t.All
	case e.Gone > 0 || e.Eased:
		row = &t.Some
	}
	switch o {
	case Nothing:
		return row.Nothing
	case Better:
		return row.Better
	case Worse:
		return row.Worse
	case Cured:
		return row.Cured
	case CameBack:
		return row.Back
	}
	return 1
}
