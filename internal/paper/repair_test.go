package paper_test

import (
	"strings"
	"testing"

	"weephole/internal/answer"
	"weephole/internal/paper"
	"weephole/internal/work"
	"weephole/lineup"
)

func open(t *testing.T, text string) *work.Work {
	t.Helper()
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	w, err := work.Open(t.Context(), m, strings.NewReader("weephole: 1\n"+text), "job.yaml", work.OpenOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestThePageToPrintHasCautionsFirstAndTheShopsUnits(t *testing.T) {
	w := open(t, "shop: {name: A & <b>B</b>, units: us, coldest: -10 °F}\nvehicle: {name: blue estate, thermostat: {sits: inlet}}\n")
	s, err := w.Sheets([]string{"replace-thermostat"})
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	if err := paper.RepairSheet(&b, paper.HeadingOf(w), s, answer.StyleOf(w)); err != nil {
		t.Fatal(err)
	}
	page, at := b.String(), 0
	for _, want := range []string{"A &amp; &lt;b&gt;", "below 122 °F", "torque of the housing bolts: ____", "Order of work", "Thermostat at the inlet", "Check the old part (",
		"for -10 °F", "Bleeding, thermostat at the inlet", "Record of the used coolant", "went to (collector, drum, receipt): ____"} {
		i := strings.Index(page[at:], want)
		if i < 0 {
			t.Fatalf("%q is missing, or stands too early", want)
		}
		at += i
	}
	for _, key := range []string{"{check:", "closing:", "vehicle:", "pot-test"} {
		if strings.Contains(page, key) {
			t.Errorf("the page shows the key %q of the job file", key)
		}
	}
	if strings.Contains(page, "°C") {
		t.Error("the page of a shop that thinks in °F names a temperature in °C")
	}
}
