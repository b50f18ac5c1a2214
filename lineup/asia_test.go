package lineup

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"weephole/cause"
	"weephole/sheet"
)

// The chest clinic of Lauritzen & Spiegelhalter (1988) as a lineup: its three
// diseases are the causes, every combination of the network's roots is one
// candidate with its prior as base weight, and each thing observed is a column.
// testdata/bayes_asia.json names the source of its tables and marginals.
func TestTheChestClinicHasItsPublishedMarginals(t *testing.T) {
	data, err := os.ReadFile("testdata/bayes_asia.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			Network   string
			Evidence  map[string]int
			Published map[string]float64 `json:"published_marginals_yes"`
			PEvidence *float64           `json:"published_P_evidence"`
			Marginals map[string]float64 `json:"marginals_yes_enumerated"`
		}
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	diseases := []string{"tub", "lung", "bronc"}
	sheets := smallCauses
	for i, id := range []string{"dull", "keen"} {
		sheets = strings.ReplaceAll(sheets, id, diseases[i])
	}
	sheets = strings.Replace(sheets, "part-bad:", `  - {id: bronc, name: b, tells: "-", place: engine, weight: {value: 1, source: t}, severity: {shape: [1, 1], source: t}, repair: mend}`+"\npart-bad:", 1)
	causes, err := cause.Load(sheet.Source{Name: "causes", Data: []byte(sheets)})
	if err != nil {
		t.Fatal(err)
	}
	l := &Lineup{model: &Model{Causes: causes}}

	yes := func(p float64, is bool) float64 {
		if is {
			return p
		}
		return 1 - p
	}
	// The network's tables, as the file has them under "cpt".
	either := func(s [5]bool) bool { return s[2] || s[3] } // asia, smoke, tub, lung, bronc
	prior := func(s [5]bool) float64 {
		tub, lung, bronc := 0.01, 0.01, 0.3
		if s[0] {
			tub = 0.05
		}
		if s[1] {
			lung, bronc = 0.1, 0.6
		}
		return yes(0.01, s[0]) * yes(0.5, s[1]) * yes(tub, s[2]) * yes(lung, s[3]) * yes(bronc, s[4])
	}
	shows := func(what string, s [5]bool) float64 {
		one := func(is bool) float64 { return yes(1, is) }
		switch what {
		case "asia":
			return one(s[0])
		case "smoke":
			return one(s[1])
		case "tub":
			return one(s[2])
		case "lung":
			return one(s[3])
		case "bronc":
			return one(s[4])
		case "either":
			return one(either(s))
		case "xray":
			if either(s) {
				return 0.98
			}
			return 0.05
		case "dysp":
			switch {
			case s[4] && either(s):
				return 0.9
			case either(s):
				return 0.7
			case s[4]:
				return 0.8
			}
			return 0.1
		}
		t.Fatalf("no node %q", what)
		return 0
	}

	tried := 0
	for _, c := range file.Cases {
		if c.Network != "asia" {
			continue
		}
		p := newPopulation(32, 0)
		for i := range p.cands {
			var s [5]bool
			for b := range s {
				s[b] = i>>b&1 == 1
			}
			p.logBase[i] = math.Log(prior(s))
			for b, id := range diseases {
				if s[2+b] {
					f := &p.now[i]
					f.list[f.n] = cause.Present{Cause: causes.Index(id), Site: cause.NoSite}
					f.n++
				}
			}
		}
		for what, is := range c.Evidence {
			column := make([]float64, 32)
			for i := range column {
				var s [5]bool
				for b := range s {
					s[b] = i>>b&1 == 1
				}
				column[i] = math.Log(yes(shows(what, s), is == 1))
			}
			p.columns = append(p.columns, column)
		}
		logEvidence := p.weigh(p.weights)
		got := l.present(p, p.weights)
		for _, id := range diseases {
			for _, from := range []struct {
				marginals map[string]float64
				within    float64
			}{{c.Marginals, 1e-12}, {c.Published, 5e-5}} { // published to four decimals
				want, ok := from.marginals[id]
				if !ok {
					continue
				}
				tried++
				if v := got[causes.Index(id)]; math.Abs(v-want) > from.within {
					t.Errorf("given %v: probability of %s is %.6f, want %.6f", c.Evidence, id, v, want)
				}
			}
		}
		if c.PEvidence != nil {
			tried++
			if v := math.Exp(logEvidence); math.Abs(v-*c.PEvidence) > 1e-9 {
				t.Errorf("probability of %v is %.9f, want %.9f", c.Evidence, v, *c.PEvidence)
			}
		}
	}
	if tried < 30 {
		t.Fatalf("only %d figures were compared", tried)
	}
}
