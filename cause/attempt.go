package cause

import (
	"math"

	"weephole/sheet"
)

// Attempt is work that people try against a complaint and that is no repair of the
// catalogue: a radiator repaired, a belt tensioned, an engine swapped. It does what
// some repairs do, less surely. Nobody plans it; once told, it is evidence.
type Attempt struct {
	At     sheet.At      `sheet:",at"`
	ID     string        `sheet:"id,required"` // a kind of work
	As     sheet.Words   `sheet:"as"`          // repairs that it does in part; none: it puts nothing right that is known here
	Share  sheet.Sourced `sheet:"share"`       // how often it does what they do
	repair Repair
}

// attempt makes an attempt into a repair that stands in no list.
func (r *resolver) attempt(a *Attempt) {
	r.word(a.At, "id", a.ID, workWords[:])
	r.share(a.At, "share.value", a.Share.Value)
	a.repair = Repair{At: a.At, ID: a.ID, Name: WorkSays(a.ID), NoPart: true, index: -1}
	for _, id := range a.As {
		i := r.repairIndex(a.At, "as", id)
		if i < 0 {
			continue
		}
		as := &r.c.Repairs[i]
		a.repair.NoPart = a.repair.NoPart && as.NoPart
		a.repair.Botched.Value = math.Max(a.repair.Botched.Value, as.Botched.Value)
		a.repair.Disturbs = append(a.repair.Disturbs, as.Disturbs...)
		for _, row := range as.cure {
			row.share *= a.Share.Value
			a.repair.cure = append(a.repair.cure, row)
		}
	}
}

// Planned is true for a repair of the catalogue, and false for one that was only
// tried (Attempt).
func (r *Repair) Planned() bool { return r.index >= 0 }

// Attempts are the ids of work that may be told as a repair and is none of Repairs.
func (c *Catalogue) Attempts() (ids []string) {
	for i := range c.attempts {
		ids = append(ids, c.attempts[i].ID)
	}
	return ids
}
