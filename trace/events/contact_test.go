package events_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"weephole/trace"
	"weephole/trace/events"
)

// breaker breaks a sensor's contact at random.
type breaker struct {
	rng   *rand.Rand
	mode  int     // 0 open: -40 °C; 1 a bad joint: reads 10 to 45 K low; 2 a short: 140 °C
	every float64 // s between breaks, mean
}

// spoil returns the readings with breaks in them, and the share of them.
func (b breaker) spoil(c []float64) (out []float64, share float64) {
	out = append(out, c...)
	n := 0
	for i := 40; i < len(out); {
		i += 3 + int(b.rng.ExpFloat64()*b.every)
		deep := 10 + 35*b.rng.Float64()
		for k := 1 + b.rng.IntN(12); k > 0 && i < len(out); k-- {
			switch b.mode {
			case 0:
				out[i] = -40
			case 1:
				out[i] -= deep
			default:
				out[i] = 140
			}
			n++
			i++
		}
	}
	return out, float64(n) / float64(len(out))
}

// spoiltLayouts write a log with its coolant in several forms.
var spoiltLayouts = []struct {
	name  string
	write func(tr *trace.Trace, c []float64) []byte
}{
	{"comma", func(tr *trace.Trace, c []float64) []byte {
		return spoilt(tr, c, "Time (s),Coolant (°C),Speed (km/h)\n", "%.0f,%.0f,%.0f\n")
	}},
	{"semicolons", func(tr *trace.Trace, c []float64) []byte {
		return []byte(strings.ReplaceAll(string(spoilt(tr, c, "Zeit;Kühlmitteltemperatur;Geschwindigkeit\n", "%.1f;%.1f;%.1f\n")), ".", ","))
	}},
	{"°F", func(tr *trace.Trace, c []float64) []byte {
		f := make([]float64, len(c))
		for i := range c {
			f[i] = c[i]*1.8 + 32
		}
		return spoilt(tr, f, "time_s,ect_f,speed_kph\n", "%.0f,%.0f,%.0f\n")
	}},
	{"one reading per row", func(tr *trace.Trace, c []float64) []byte {
		var b bytes.Buffer
		b.WriteString("ms,name,value\n")
		for i := range c {
			fmt.Fprintf(&b, "%.0f,Coolant temp,%.0f\n%.0f,Vehicle speed,%.0f\n", tr.Time[i]*1000, c[i], tr.Time[i]*1000+400, tr.Signals[trace.RoadSpeed][i]*3.6)
		}
		return b.Bytes()
	}},
}

func spoilt(tr *trace.Trace, c []float64, head, format string) []byte {
	var b bytes.Buffer
	b.WriteString(head)
	for i := range c {
		fmt.Fprintf(&b, format, tr.Time[i], c[i], tr.Signals[trace.RoadSpeed][i]*3.6)
	}
	return b.Bytes()
}

// TestALooseContactBlamesNoThermostat breaks the contact in the open logs of a
// healthy car, 52 times in four layouts and three ways. The jumps must be told,
// and the thermostat must be judged as without them.
func TestALooseContactBlamesNoThermostat(t *testing.T) {
	files, _ := filepath.Glob("../testdata/kit-obd2/*.csv.gz")
	for i, path := range files {
		sound, err := readFile(t, path, trace.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		before := events.InLog(sound)
		for k, lay := range spoiltLayouts {
			rng := rand.New(rand.NewPCG(uint64(i), uint64(k)))
			b := breaker{rng, (i + k) % 3, 20 + 60*rng.Float64()}
			bad, share := b.spoil(sound.Signals[trace.Coolant])
			name := fmt.Sprintf("%s, %s, mode %d", filepath.Base(path), lay.name, b.mode)
			tr, err := trace.Read(context.Background(), bytes.NewReader(lay.write(sound, bad)), "spoilt", trace.ReadOptions{})
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			got := events.InLog(tr)
			if got.Verdict == events.RunsCold || got.Verdict == events.Overheats {
				t.Errorf("%s: %s because %s; without jumps %s", name, got.Verdict, got.Why, before.Verdict)
			}
			if math.Abs(got.MaxC.Value-before.MaxC.Value) > 2 {
				t.Errorf("%s: highest %.1f °C, without jumps %.1f", name, got.MaxC.Value, before.MaxC.Value)
			}
			if got.Contact.Jumps < 5 || math.Abs(got.Contact.Share-share) > 0.35*share+0.01 {
				t.Errorf("%s: %d jumps, share %.3f; %.3f of the readings were spoilt", name, got.Contact.Jumps, got.Contact.Share, share)
			}
		}
	}
}
