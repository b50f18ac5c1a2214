package lineup

import "testing"

// A region of good engines is as hard to find however many engines were asked for: what is
// sought gets as many draws of a small lineup as of a large one.
func TestWhatIsSoughtDoesNotHangOnTheEffort(t *testing.T) {
	l := few(t)
	small := total(l.sought(1))
	l.opts.Candidates = 20000
	if large := total(l.sought(1)); small == 0 || small != large {
		t.Errorf("%.0f draws are sought of a lineup of 500, %.0f of one of 20,000 with the same engines", small, large)
	}
}

func total(list []float64) (sum float64) {
	for _, x := range list {
		sum += x
	}
	return sum
}
