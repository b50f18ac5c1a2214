package work

import "weephole/cause"

// drain says what a repair has to do with the coolant, among those done together: they share one
// drain, the first lets it out, and the last fills up and bleeds.
type drain struct {
	from        string // where: none, radiator or block
	first, last bool
	next        string // name of the repair that comes before filling up
	lets        bool   // it lets coolant out
}

// drainOf is the drain of repair i of a list.
func drainOf(d *SheetData, list []*cause.Repair, i int) drain {
	out := drain{from: d.drains(list[i]), first: true, last: true}
	if !d.opens(list[i]) {
		return out
	}
	for k, r := range list {
		if k == i || !d.opens(r) {
			continue
		}
		if d.share(d.drains(r)) > d.share(out.from) {
			out.from = d.drains(r)
		}
		if k < i {
			out.first = false
		} else if out.last {
			out.last, out.next = false, r.Name
		}
	}
	return out
}

// drains is where a repair lets the coolant out.
func (d *SheetData) drains(r *cause.Repair) string {
	switch steps := d.For(r.ID); {
	case steps != nil:
		return steps.Drains
	case r.Drained():
		return "radiator"
	}
	return "none"
}

// opens is true of a repair after which the system has to be filled up and bled.
func (d *SheetData) opens(r *cause.Repair) bool { return d.drains(r) != "none" || r.Drained() }
