package web

import (
	"encoding/json"
	"net/http"

	"weephole/internal/say"
)

// SayAnswer is what a text may mean.
type SayAnswer struct {
	Offers  []SayOffer `json:"offers"`  // in the text's order, at most two for each part
	Remarks []string   `json:"remarks"` // what was not understood
}

// SayOffer is a finding that a part of a text may mean. It is kept only when it is
// entered like any other.
type SayOffer struct {
	Of      string          `json:"of"`   // the part of the text
	Says    string          `json:"says"` // what the finding says
	Finding json.RawMessage `json:"finding,omitempty"`
	// Elsewhere is true for what belongs to the car and complaint.
	Elsewhere bool `json:"elsewhere,omitempty"`
}

// offersForPart is how many meanings of one part are offered: judgement, what a
// thumb can choose from without reading long.
const offersForPart = 2

// say reads what a colleague would say and offers the findings it may mean.
func (ap *findingsAPI) say(_ http.ResponseWriter, r *http.Request) (any, error) {
	s, err := ap.current(r.Context(), r.PathValue("id"))
	if err != nil {
		return nil, err
	}
	lexicon, err := ap.lexicon()
	if err != nil {
		return nil, err
	}
	units := "metric"
	if s.units().TemperatureIn == "°F" {
		units = "us"
	}
	out := SayAnswer{Offers: []SayOffer{}, Remarks: []string{}}
	for _, part := range lexicon.Parts(r.FormValue("text"), units) {
		if len(part.Offers) == 0 {
			out.Remarks = append(out.Remarks, part.Text)
		}
		for _, o := range part.Offers[:min(offersForPart, len(part.Offers))] {
			offer := SayOffer{Of: part.Text, Says: o.Text, Finding: findingOf(&o)}
			offer.Elsewhere = offer.Finding == nil
			out.Offers = append(out.Offers, offer)
			if o.Sure() {
				break // nobody need choose
			}
		}
	}
	return out, nil
}

// findingOf is an offer as a finding, nil where it is none.
func findingOf(o *say.Offer) json.RawMessage {
	f := map[string]any{}
	switch {
	case o.Check != "":
		f["check"] = o.Check
		if o.Found != "" {
			f["found"] = o.Found
		}
		if len(o.Read) > 0 {
			f["read"] = o.Read
		}
	case o.Sign != "" && o.Found == "no":
		f["denied"] = o.Sign
	case o.Sign != "":
		f["sign"] = o.Sign
	case o.Repair != "":
		f["repair"] = o.Repair
		if o.Found != "" {
			f["changed"] = o.Found
		}
	default:
		return nil
	}
	return mustJSON(f)
}
