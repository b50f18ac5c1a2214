package quantity_test

import (
	"testing"

	"weephole/quantity"
)

func TestTextsForPeopleAreWrittenInTheShopsUnits(t *testing.T) {
	for _, c := range []struct {
		name, text, us, metric string
	}{
		{"temperatures", "below 50 °C; water at 64 °C burns", "below 122 °F; water at 147 °F burns", "below 50 °C; water at 64 °C burns"},
		{"pressures", "never above 20 psi.", "never above 20 psi.", "never above 1.4 bar."},
		{"a range keeps its two ends together", "between 6-7 bar", "between 6-7 bar", "between 6-7 bar"},
		{"what is no quantity", "2 °, 3 °Cx, psi", "2 °, 3 °Cx, psi", "2 °, 3 °Cx, psi"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := quantity.US().InText(c.text); got != c.us {
				t.Errorf("US: %q, want %q", got, c.us)
			}
			if got := quantity.Metric().InText(c.text); got != c.metric {
				t.Errorf("metric: %q, want %q", got, c.metric)
			}
		})
	}
}
