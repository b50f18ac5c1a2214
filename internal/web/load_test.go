package web_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"weephole/internal/web"
	"weephole/internal/web/answers"
)

// TestLoad is the measurement behind docs/bench.md: people working at once, each
// on a job of his own. It asserts nothing about time; it reports. Set
// WEEPHOLE_LOAD=1 for the full measure, which takes some minutes.
func TestLoad(t *testing.T) {
	people, findings, pause := 4, 3, 20*time.Millisecond
	full := os.Getenv("WEEPHOLE_LOAD") != ""
	if full {
		asServed(t)
		people, findings, pause = 20, 40, 2*time.Second
	}
	l := lay(t, func(c *web.Config) {
		if full { // draws for itself, too
			c.Answers = answers.Defaults()
		}
	})
	began := time.Now()
	ids := make([]string, people)
	var wg sync.WaitGroup
	for i := range ids {
		ids[i] = l.job(strings.Replace(hotCar, "blue estate", fmt.Sprint("car ", i), 1))
		wg.Go(func() { l.ask("GET", "/api/jobs/"+ids[i]+"/odds", nil, nil) })
	}
	wg.Wait()
	warm := time.Since(began)

	busy, from := processorTime(), time.Now()
	words := []string{
		`{"check":"level-cold","found":"full"}`, `{"check":"belt-look","found":"firm"}`, `{"check":"fan-run","found":"runs"}`,
		`{"check":"hose-temps","read":{"upper-hose":"%d °C","lower-hose":"44 °C"}}`, `{"check":"weep-look","found":"dry"}`,
		`{"check":"hose-squeeze","found":"soft"}`, `{"check":"coolant-look","found":"clean"}`, `{"check":"airflow-look","found":"clear"}`,
	}
	var mu sync.Mutex
	var kept, odds []time.Duration
	for i, id := range ids {
		wg.Go(func() {
			rng := rand.New(rand.NewPCG(7, uint64(i)))
			for n := range findings {
				time.Sleep(time.Duration(rng.Float64() * 2 * float64(pause)))
				body := words[n%len(words)]
				if strings.Contains(body, "%d") {
					body = fmt.Sprintf(body, 95+rng.IntN(12))
				}
				at := time.Now()
				m := l.found(id, body)
				a := time.Since(at)
				l.must("GET", fmt.Sprintf("/api/jobs/%s/odds?seq=%d", id, m.Seq), nil, nil)
				b := time.Since(at)
				mu.Lock()
				kept, odds = append(kept, a), append(odds, b)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	busy, took := processorTime()-busy, time.Since(from)
	report := fmt.Sprintf("%d people, %d findings each, %d cores; %d engines coarse\nfirst odds of all jobs after %v\nfinding confirmed: median %v, 95th percentile %v, worst %v\ncoarse odds seen:  median %v, 95th percentile %v, worst %v\nprocessor time: %v for each finding, with all that follows from it; %.0f %% of one core\n",
		people, findings, runtime.NumCPU(), coarseSize(full), warm.Round(time.Millisecond),
		at(kept, .5), at(kept, .95), at(kept, 1), at(odds, .5), at(odds, .95), at(odds, 1),
		(busy / time.Duration(len(odds))).Round(time.Millisecond), 100*busy.Seconds()/took.Seconds())
	t.Log(report)
	artefact(t, "load.txt", []byte(report))
}

func coarseSize(full bool) int {
	if full {
		return answers.Defaults().CoarseSize
	}
	return sizes().CoarseSize
}

// at is a quantile.
func at(d []time.Duration, q float64) time.Duration {
	slices.Sort(d)
	return d[min(len(d)-1, int(q*float64(len(d))))].Round(100 * time.Microsecond)
}

// TestMemoryStaysFlat enters findings by the thousand, in many jobs, and looks at
// the heap on the way. WEEPHOLE_LOAD=1 enters 10,000.
func TestMemoryStaysFlat(t *testing.T) {
	total, full := 200, os.Getenv("WEEPHOLE_LOAD") != ""
	if full {
		total = 10_000
	}
	l := lay(t, func(c *web.Config) {
		if c.Answers.CoarseSize, c.Answers.Warm = 500, 6; full {
			c.Answers.Share = nil // lineups that all share would hide what each job holds
		}
	})
	const perJob = 40
	var report strings.Builder
	var early, late uint64
	for n := 0; n < total; n += perJob {
		id := l.job(hotCar)
		var m web.Made
		for i := range perJob {
			body := []string{`{"check":"level-cold","found":"full"}`, `{"check":"belt-look","found":"firm"}`, `{"check":"fan-run","found":"runs"}`, `{"check":"weep-look","found":"dry"}`}[i%4]
			m = l.found(id, body)
		}
		l.must("GET", fmt.Sprintf("/api/jobs/%s/odds?seq=%d", id, m.Seq), nil, nil)
		if done := n + perJob; done%(total/10) < perJob {
			runtime.GC()
			var s runtime.MemStats
			runtime.ReadMemStats(&s)
			fmt.Fprintf(&report, "%6d findings: %5.1f MB in use\n", done, float64(s.HeapAlloc)/1e6)
			if done <= total*3/10 {
				early = max(early, s.HeapAlloc)
			} else {
				late = max(late, s.HeapAlloc)
			}
		}
	}
	t.Log("\n" + report.String())
	artefact(t, "memory.txt", []byte(report.String()))
	if total >= 10_000 && late > early*5/4 {
		t.Errorf("the heap grew from %d to %d bytes", early, late)
	}
}
