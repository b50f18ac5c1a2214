package trial_test

import (
	"bytes"
	"os"
	"strconv"
	"testing"

	"weephole/internal/trial/stranger"
	"weephole/internal/work"
	"weephole/lineup"
	"weephole/margin"
)

// The true margin of cars of another world, by their own simulator, lies inside the
// 80 % range of the answer in 75 to 85 of 100 cars. WEEPHOLE_MARGIN is how many cars
// to meet; each takes some seconds.
func TestTheTrueMarginLiesInTheRange(t *testing.T) {
	cars, _ := strconv.Atoi(os.Getenv("WEEPHOLE_MARGIN"))
	if cars < 1 {
		t.Skip("set WEEPHOLE_MARGIN to the number of cars to meet")
	}
	m, err := lineup.DefaultModel()
	if err != nil {
		t.Fatal(err)
	}
	duties := map[string]stranger.Held{
		"idle": {AirCon: true}, "motorway": {KMH: 120, AirCon: true}, "climb": {KMH: 80, Grade: 0.07, AirCon: true},
	}
	k, err := margin.DefaultCriteria()
	if err != nil {
		t.Fatal(err)
	}
	stage := stranger.Stages()[2]
	in, n, below, above := map[string]int{}, map[string]int{}, map[string]int{}, map[string]int{}
	for i := range cars {
		c, err := stranger.Meet(t.Context(), 1818, i, stranger.Want(i%3))
		if err != nil {
			t.Fatal(err)
		}
		w, err := work.Open(t.Context(), m, bytes.NewReader(c.YAML(stage, "")), "job.yaml", work.OpenOptions{Lineup: lineup.DrawOptions{Candidates: 1500, Seed: 1}})
		if err != nil {
			t.Fatal(err)
		}
		a, err := w.Margin(t.Context(), work.MarginAsk{})
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range a.Duties {
			h, ok := duties[d.Duty.ID]
			if !ok {
				continue
			}
			// The duty's air at the grille is warmer than the weather's.
			truth := max(c.Car.HighestAir(h, w.Case.Shop.AltitudeM)-d.Duty.GrilleAir, k.LowestAir.Value)
			r := d.Found.Highest
			n[d.Duty.ID]++
			// Beyond any weather (60 degC) nobody asks by how much.
			const most = 60
			switch x, low, high := min(truth, most), min(r.Low, most), min(r.High, most); {
			case x < low-0.5:
				below[d.Duty.ID]++
			case x > high+0.5:
				above[d.Duty.ID]++
			default:
				in[d.Duty.ID]++
			}
			t.Logf("%s %v %s: true %.0f, range %.0f to %.0f (middle %.0f)", c.Name, c.Truths(), d.Duty.ID, truth, r.Low, r.High, r.Middle)
		}
	}
	for id := range duties {
		t.Logf("%s: %d of %d inside, %d below, %d above", id, in[id], n[id], below[id], above[id])
	}
	for id := range duties {
		if share := 100 * in[id] / n[id]; share < 75 || share > 85 {
			t.Errorf("%s: %d of 100 true margins lie in the range, want 75 to 85", id, share)
		}
	}
}
