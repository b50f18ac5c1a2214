package job_test

import (
	"encoding/json"
	"strings"
	"testing"

	"weephole/internal/job"
)

func TestAFindingAloneIsReadAsInAJobFile(t *testing.T) {
	words := vocabulary()
	us := job.Shop{Units: "us"}
	for _, c := range []struct{ name, src, says string }{
		{"a word", `{"check":"level-cold","found":"low"}`, ""},
		{"readings", `{"check":"hose-temps","read":{"upper-hose":"203 °F","lower-hose":"90 °C"}}`, ""},
		{"a repair", `{"repair":"replace-thermostat","changed":"better"}`, ""},
		{"no check", `{"found":"low"}`, "names neither a check nor a repair"},
		{"a wrong word", `{"check":"level-cold","found":"purple"}`, `found: "purple"`},
		{"a reading that cannot be, in the shop's units", `{"check":"hose-temps","read":{"upper-hose":"900 °F"}}`, "read.upper-hose: "},
		{"a list", `[1]`, "expected keys with values"},
		{"no text at all", "\xff\xfe", ""},
	} {
		f, err := job.ReadFinding([]byte(c.src), us, words)
		if c.says != "" {
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s: %v; want %q", c.name, err, c.says)
			}
			continue
		}
		if err != nil {
			if c.name != "no text at all" {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		raw, err := json.Marshal(f)
		if err != nil {
			t.Fatal(err)
		}
		if string(raw) != c.src {
			t.Errorf("%s: written back as %s", c.name, raw)
		}
	}
	if _, err := job.ReadFinding([]byte(`{"check":"hose-temps","read":{"upper-hose":"900 °F"}}`), us, words); err == nil || !strings.Contains(err.Error(), "°F to ") {
		t.Errorf("in US units: %v", err)
	}
}

func TestAShopAloneIsReadAsInAJobFile(t *testing.T) {
	s, err := job.ReadShop([]byte(`{"rate":"$120/h","units":"us"}`), vocabulary())
	if err != nil || s.Rate.Text != "$120/h" || s.Speaks().TemperatureIn != "°F" {
		t.Errorf("%+v, %v", s, err)
	}
	if _, err := job.ReadShop([]byte(`{"rate":"a lot"}`), vocabulary()); err == nil || !strings.HasPrefix(err.Error(), "rate: ") {
		t.Errorf("a wrong rate: %v", err)
	}
}
