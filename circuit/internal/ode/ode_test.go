package ode_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"weephole/circuit/internal/ode"
)

type problem struct {
	ID         string    `json:"id"`
	Start      []float64 `json:"y0"`
	End        float64   `json:"t_end"`
	Published  []float64 `json:"y_end_published"`
	Recomputed []float64 `json:"recomputed_DOP853_rtol1e-13"`
	Radau      []float64 `json:"recomputed_Radau"`
}

func twoBody(_ float64, y, dy []float64) {
	r3 := math.Pow(y[0]*y[0]+y[1]*y[1], 1.5)
	dy[0], dy[1], dy[2], dy[3] = y[2], y[3], -y[0]/r3, -y[1]/r3
}

var functions = map[string]ode.Func{
	"A1": func(_ float64, y, d []float64) { d[0] = -y[0] },
	"A2": func(_ float64, y, d []float64) { d[0] = -y[0] * y[0] * y[0] / 2 },
	"A3": func(t float64, y, d []float64) { d[0] = y[0] * math.Cos(t) },
	"A4": func(_ float64, y, d []float64) { d[0] = y[0] / 4 * (1 - y[0]/20) },
	"A5": func(t float64, y, d []float64) { d[0] = (y[0] - t) / (y[0] + t) },
	"B1": func(_ float64, y, d []float64) { d[0], d[1] = 2*(y[0]-y[0]*y[1]), -(y[1] - y[0]*y[1]) },
	"B2": func(_ float64, y, d []float64) { d[0], d[1], d[2] = -y[0]+y[1], y[0]-2*y[1]+y[2], y[1]-y[2] },
	"B3": func(_ float64, y, d []float64) { d[0], d[1], d[2] = -y[0], y[0]-y[1]*y[1], y[1]*y[1] },
	"B4": func(_ float64, y, d []float64) {
		r := math.Hypot(y[0], y[1])
		d[0], d[1], d[2] = -y[1]-y[0]*y[2]/r, y[0]-y[1]*y[2]/r, y[0]/r
	},
	"B5": func(_ float64, y, d []float64) { d[0], d[1], d[2] = y[1]*y[2], -y[0]*y[2], -0.51*y[0]*y[1] },
	"C3": func(_ float64, y, d []float64) {
		for i := range y {
			d[i] = -2 * y[i]
			if i > 0 {
				d[i] += y[i-1]
			}
			if i < len(y)-1 {
				d[i] += y[i+1]
			}
		}
	},
	"D1": twoBody, "D2": twoBody, "D3": twoBody, "D4": twoBody,
	"Robertson_t0.4": robertson, "Robertson_t40": robertson,
	"HIRES": func(_ float64, y, d []float64) {
		d[0] = -1.71*y[0] + 0.43*y[1] + 8.32*y[2] + 0.0007
		d[1] = 1.71*y[0] - 8.75*y[1]
		d[2] = -10.03*y[2] + 0.43*y[3] + 0.035*y[4]
		d[3] = 8.32*y[1] + 1.71*y[2] - 1.12*y[3]
		d[4] = -1.745*y[4] + 0.43*y[5] + 0.43*y[6]
		d[5] = -280*y[5]*y[7] + 0.69*y[3] + 1.71*y[4] - 0.43*y[5] + 0.69*y[6]
		d[6] = 280*y[5]*y[7] - 1.81*y[6]
		d[7] = -280*y[5]*y[7] + 1.81*y[6]
	},
}

func robertson(_ float64, y, d []float64) {
	d[0] = -0.04*y[0] + 1e4*y[1]*y[2]
	d[1] = 0.04*y[0] - 1e4*y[1]*y[2] - 3e7*y[1]*y[1]
	d[2] = 3e7 * y[1] * y[1]
}

func problems(t *testing.T) (smooth, stiff []problem) {
	t.Helper()
	text, err := os.ReadFile("testdata/ode_reference_problems.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Nonstiff []problem `json:"nonstiff"`
		Stiff    []problem `json:"stiff"`
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	return file.Nonstiff, file.Stiff
}

// Expected values: DETEST (Hull, Enright, Fellen, Sedgwick 1972) end values,
// as the file says.
func TestExplicitReachesThePublishedEndsOfSmoothProblems(t *testing.T) {
	smooth, _ := problems(t)
	tried := 0
	for _, p := range smooth {
		f := functions[p.ID]
		if f == nil || p.Published == nil {
			continue
		}
		tried++
		t.Run(p.ID, func(t *testing.T) {
			y := append([]float64(nil), p.Start...)
			if err := ode.Explicit(f, 0, p.End, y, 1e-10, 1e-13); err != nil {
				t.Fatal(err)
			}
			compare(t, y, p.Published, 1e-6, 1e-12)
		})
	}
	if tried < 14 {
		t.Errorf("tried %d problems, want at least 14", tried)
	}
}

// Expected values: IVP test set reference values and Radau at rtol 1e-12, as
// the file says.
func TestRos2ReachesThePublishedEndsOfStiffProblems(t *testing.T) {
	_, stiff := problems(t)
	tried := 0
	for _, p := range stiff {
		f := functions[p.ID]
		if f == nil {
			continue
		}
		tried++
		t.Run(p.ID, func(t *testing.T) {
			y := append([]float64(nil), p.Start...)
			if err := ode.Ros2(f, 0, p.End, y, 1e-5, 1e-10, 0); err != nil {
				t.Fatal(err)
			}
			compare(t, y, p.Radau, 1e-3, 1e-10)
		})
	}
	if tried < 3 {
		t.Errorf("tried %d problems, want at least 3", tried)
	}
}

func compare(t *testing.T, got, want []float64, relative, absolute float64) {
	t.Helper()
	for i := range want {
		if d := math.Abs(got[i] - want[i]); d > absolute+relative*math.Abs(want[i]) {
			t.Errorf("component %d is %.10g, want %.10g", i, got[i], want[i])
		}
	}
}

// The order is the method's own promise: halving the step divides the error
// by four, even when the Jacobian is 30 % wrong.
func TestRos2IsOfSecondOrderWithAWrongJacobian(t *testing.T) {
	for _, wrong := range []float64{0, 0.3, -0.3} {
		var errs [2]float64
		for i, steps := range []int{400, 800} {
			y := []float64{1, 3}
			ode.Ros2Fixed(functions["B1"], 0, 2, y, steps, wrong)
			exact := []float64{1, 3}
			if err := ode.Explicit(functions["B1"], 0, 2, exact, 1e-12, 1e-13); err != nil {
				t.Fatal(err)
			}
			errs[i] = math.Hypot(y[0]-exact[0], y[1]-exact[1])
		}
		if ratio := errs[0] / errs[1]; ratio < 3.6 || ratio > 4.4 {
			t.Errorf("Jacobian off by %g: error ratio %.2f on halving the step, want 4", wrong, ratio)
		}
	}
}

type circuitCases struct {
	Cases []struct {
		ID       string           `json:"id"`
		Inputs   map[string]any   `json:"inputs"`
		Solution []map[string]any `json:"solution"`
		Reach    float64          `json:"time_to_82C_s"`
	} `json:"cases"`
}

// Expected values: matrix exponential and DOP853 (scipy 1.10.1), closed forms,
// as the file says.
func TestBothMethodsFollowTheReferenceCircuits(t *testing.T) {
	text, err := os.ReadFile("testdata/cooling_circuit_ode_cases.json")
	if err != nil {
		t.Fatal(err)
	}
	var file circuitCases
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	three := func(in map[string]any, flow func(tc float64) float64) ode.Func {
		v := func(name string) float64 { return in[name].(float64) }
		return func(_ float64, y, d []float64) {
			w := flow(y[1])
			d[0] = (v("Q_W") - v("G_W_K")*(y[0]-y[1])) / v("Cm_J_K")
			d[1] = (v("G_W_K")*(y[0]-y[1]) + w*(y[2]-y[1])) / v("Cc_J_K")
			d[2] = (w*(y[1]-y[2]) - v("UA_W_K")*(y[2]-v("T_ambient_C"))) / v("Cr_J_K")
		}
	}
	names := []string{"T_metal_C", "T_coolant_engine_C", "T_coolant_radiator_C"}
	tried := 0
	for _, c := range file.Cases {
		var f ode.Func
		start := []float64{20, 20, 20}
		columns := names
		switch c.ID {
		case "linear_3_node_circuit":
			f = three(c.Inputs, func(float64) float64 { return c.Inputs["W_W_K"].(float64) })
		case "nonlinear_thermostat_circuit":
			f = three(c.Inputs, func(tc float64) float64 {
				return c.Inputs["Wmax_W_K"].(float64) * min(1, max(0, (tc-82)/13))
			})
		case "newton_cooling":
			start, columns = []float64{105}, []string{"T_C"}
			f = func(_ float64, y, d []float64) { d[0] = -40.0 / 78000 * (y[0] - 20) }
		default:
			continue
		}
		tried++
		t.Run(c.ID, func(t *testing.T) {
			tight, rough := append([]float64(nil), start...), append([]float64(nil), start...)
			now := 0.0
			for _, row := range c.Solution {
				at := row["t_s"].(float64)
				if err := ode.Explicit(f, now, at, tight, 1e-11, 1e-10); err != nil {
					t.Fatal(err)
				}
				if err := ode.Ros2(f, now, at, rough, 1e-5, 1e-3, 0); err != nil {
					t.Fatal(err)
				}
				now = at
				for i, name := range columns {
					want := row[name].(float64)
					if math.Abs(tight[i]-want) > 1e-6 {
						t.Errorf("explicit at %g s: %s is %.9g, want %.9g", at, name, tight[i], want)
					}
					if math.Abs(rough[i]-want) > 0.01 {
						t.Errorf("ros2 at %g s: %s is %.6g, want %.6g", at, name, rough[i], want)
					}
				}
			}
		})
	}
	if tried != 3 {
		t.Errorf("tried %d cases, want 3", tried)
	}
}
