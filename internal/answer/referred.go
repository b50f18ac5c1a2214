package answer

import "fmt"

// ReferredFacts is what goes with a car that is referred.
type ReferredFacts struct {
	// FitsNothing is true where no cause of the catalogue explains what was found.
	FitsNothing bool   `json:"fits_nothing"`
	Left        []Lead `json:"left"`     // what it may still be, likeliest first
	Excluded    []Lead `json:"excluded"` // common causes that are as good as ruled out, commonest first
	// Drivable is true where the owner may drive on until it does it again.
	Drivable bool `json:"drivable"`
}

// mostExcluded is how many excluded causes are worth a line; judgement: the common ones.
const mostExcluded = 8

func (t stepWriter) referred() *ReferredFacts {
	car, m := t.car, t.car.Model.Causes
	r := &ReferredFacts{FitsNothing: car.FitsNothing(), Drivable: car.Drivable(), Left: []Lead{}, Excluded: []Lead{}}
	odds := make(map[int]float64)
	for _, s := range car.CausesLeft() {
		odds[s.Cause] = s.Probability
		if len(r.Left) < leadsShown && s.Cause != m.Unnamed() {
			r.Left = append(r.Left, Lead{m.Causes[s.Cause].ID, m.Causes[s.Cause].Name, s.Probability})
		}
	}
	for _, c := range car.Excluded() {
		if len(r.Excluded) < mostExcluded {
			r.Excluded = append(r.Excluded, Lead{m.Causes[c].ID, m.Causes[c].Name, odds[c]})
		}
	}
	return r
}

// tell says it in lines: no part is bought on a car that fits nothing.
func (r *ReferredFacts) tell() (out []Line) {
	say := func(format string, args ...any) { out = append(out, Line{Referred, fmt.Sprintf(format, args...)}) }
	if r.FitsNothing {
		say("What was found fits nothing in the catalogue. Buy no part on it.")
	}
	if len(r.Left) > 0 && !r.FitsNothing {
		say("What it may still be: %s.", listed(leads(r.Left), " or "))
	}
	if len(r.Excluded) > 0 {
		var names []string
		for _, l := range r.Excluded {
			names = append(names, l.Name)
		}
		say("Excluded so far: %s. Write that down for whoever takes the car.", And(names))
	}
	if r.Drivable {
		say("If the owner can wait: let the car be driven with a log running and the level looked at every morning. It comes back when it does it again, with the log.")
	}
	return out
}

func leads(list []Lead) (out []string) {
	for _, l := range list {
		out = append(out, lead(l))
	}
	return out
}
