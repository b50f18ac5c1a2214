package work_test

import (
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"weephole/internal/work"
	"weephole/lineup"
	"weephole/trace"
)

// The engines of a case are drawn once. What was found after the repair does not
// change the case as it stood before it, though its log has rows that do not hold everything.
func TestACaseWithALogHasOneKey(t *testing.T) {
	const stuck = "../paper/testdata/stuck.yaml"
	m := model(t)
	open := func() *work.Work {
		f, err := os.Open(stuck)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		w, err := work.Open(t.Context(), m, f, stuck, work.OpenOptions{Open: func(name string) (io.ReadCloser, error) {
			return os.Open(filepath.Join(filepath.Dir(stuck), name))
		}})
		if err != nil {
			t.Fatal(err)
		}
		return w
	}
	key := func(cs lineup.Case) string {
		k, err := work.KeyOf(cs)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	a, b := open(), open()
	if key(a.Before) != key(b.Before) || key(a.Case) != key(b.Case) {
		t.Error("the same case has two keys")
	}
	if key(a.Before) == key(a.Case) {
		t.Error("two cases have one key")
	}
	for i := range b.Before.Events {
		if log := b.Before.Events[i].Log; log != nil {
			other := *log
			other.Segments = append([]trace.Segment{}, log.Segments...)
			other.Segments[0].FuelRateKgS = math.NaN()
			other.Segments[0].CoolantC++
			b.Before.Events[i].Log = &other
		}
	}
	if key(a.Before) == key(b.Before) {
		t.Error("another log has the same key")
	}
}
