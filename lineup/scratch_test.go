package lineup_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"weephole/check"
	"weephole/circuit"
	"weephole/lineup"
)

func TestScratch(t *testing.T) {
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	said := make([]check.Heard, len(m.Checks.Signs))
	conds := make([]check.Heard, len(m.Checks.Conditions))
	said[m.Checks.SignIndex("overheats")] = check.Said
	cs := lineup.Case{Shop: circuit.Conditions{AmbientC: 30}, OnTheRoad: circuit.Conditions{AmbientC: 30},
		Complaint: check.Complaint{Trouble: check.Hot, Signs: said, Conditions: conds}}
	t0 := time.Now()
	l, err := lineup.New(context.Background(), m, cs, lineup.Options{Candidates: 4000})
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println(time.Since(t0))
	o := l.Odds()
	fmt.Println(o.Candidates, o.Effective)
	for _, c := range o.Causes {
		fmt.Printf("%-22s %.3f before %.3f\n", c.Cause, c.Probability, c.Before)
	}
}
