package events

import (
	"math"

	"weephole/circuit"
	"weephole/trace"
	"weephole/trace/internal/stat"
)

// What a log of unknown engine is judged by. Every figure carries its spread;
// a car's own numbers are the lineup's business, not this package's.
const (
	airPerFuel    = 14.6   // kg/kg, stoichiometric petrol; common handbook figure
	idlePower     = 7.9e3  // W of fuel, cold idle at about 870 rpm, 1.5 L; fitted from open logs, 7.6 to 10.4
	idleRevs      = 14.5   // rev/s at which idlePower holds
	idleShare     = 0.45   // of fuel power into coolant and metal at idle; 0.40 to 0.55, judgement
	loadShare     = 0.35   // the same under load; between 0.28, a published generic prior, and 0.40 to 0.45 at start-up; judgement
	heatCapacity  = 55e3   // J/K, engine and coolant; 45 to 76 for 60 to 200 kW by a published mass split
	standingLoss  = 34.0   // W/K at standstill; 33 to 35, fitted from open logs
	movingLoss    = 50.0   // W/K more at 50 km/h; 50 to 100, judgement; see the note on agreement in doc.go
	heaterLoss    = 20.0   // W/K with the cabin heater in use; judgement; see the note on agreement in doc.go
	heaterFull    = 120.0  // W/K with the blower at full; cabin heater cores give 100 to 150
	heaterBelow   = 12.0   // degC outside below which the heater is taken to be on; judgement
	heatSpread    = 0.35   // relative standard uncertainty of the balance; judgement
	neededSpread  = 0.25   // the same of the heat needed; judgement
	movingAt      = 13.9   // m/s, 50 km/h, at which movingLoss holds
	nineInTen     = 1.3    // standard uncertainties below which one in ten of a normal lies
	vehicleMass   = 1400.0 // kg, with driver; judgement
	dragArea      = 0.65   // m2; judgement
	rolling       = 0.011  // coefficient; judgement
	airDensity    = 1.2    // kg/m3 at 20 degC
	tractionShare = 0.33   // of the extra fuel power that reaches the wheels; judgement
	openingC      = 88.0   // degC, the commonest rating; ratings run from 71 to 105; common practice, no source
)

// balance is the heat in and out, row by row.
type balance struct {
	in    []float64 // W into coolant and metal
	loss  []float64 // W/K to the surroundings with the thermostat shut
	from  string
	outC  float64
	sigma float64 // relative
}

// heatOf estimates the balance over rows a to b.
func heatOf(t *trace.Trace, a, b int, outside Estimate) balance {
	at := func(s trace.Signal) []float64 {
		if x := t.Signals[s]; x != nil && len(stat.Known(x[a:b]))*2 > b-a {
			return x[a:b]
		}
		return nil
	}
	v, n, air, fuel, mapp := at(trace.RoadSpeed), at(trace.EngineSpeed), at(trace.AirFlow), at(trace.FuelRate), at(trace.ManifoldPressure)
	h := balance{in: make([]float64, b-a), loss: make([]float64, b-a), outC: outside.Value, sigma: heatSpread}
	if air != nil && !throttled(air, n, mapp) {
		air = nil // a diesel takes in air without burning it
	}
	switch {
	case fuel != nil:
		h.from, h.sigma = "fuel rate", 0.25
	case air != nil:
		h.from, h.sigma = "air flow", 0.28
	case v != nil:
		h.from = "road speed"
	case n != nil:
		h.from, h.sigma = "engine speed", 0.45
	default:
		h.from, h.sigma = "time alone", 0.6
	}
	last := nan
	for i := range h.in {
		speed := 0.0
		if v != nil && !math.IsNaN(v[i]) {
			speed = v[i]
		}
		p := idlePower
		switch {
		case fuel != nil:
			p = fuel[i] * circuit.FuelHeat
		case air != nil:
			p = air[i] / airPerFuel * circuit.FuelHeat
		case v != nil:
			acc := 0.0
			if i > 0 && !math.IsNaN(last) {
				acc = (speed - last) / math.Max(t.Time[a+i]-t.Time[a+i-1], 0.5)
			}
			p, last = drivingPower(speed, acc), speed
		case n != nil && !math.IsNaN(n[i]):
			p = idlePower * n[i] / idleRevs
		}
		if n != nil && n[i] < trace.StoppedRevs {
			p = 0
		}
		if math.IsNaN(p) {
			p = idlePower
		}
		h.in[i], h.loss[i] = heatInto(p), heatLoss(speed, outside.Value)
	}
	return h
}

// drivingPower is the fuel's power, W, at a speed, m/s, and an acceleration, m/s2:
// rolling, drag and speeding up at the wheels, and the engine's own.
func drivingPower(speed, acc float64) float64 {
	wheels := speed * (vehicleMass*circuit.Gravity*rolling + 0.5*airDensity*dragArea*speed*speed + vehicleMass*acc)
	return idlePower + math.Max(0, wheels)/tractionShare
}

// heatInto is the heat that reaches the coolant, W, at a power of the fuel.
func heatInto(p float64) float64 {
	share := idleShare
	if p > idlePower {
		share = loadShare + (idleShare-loadShare)*idlePower/p
	}
	return share * p
}

// heatLoss is what the engine's outside loses at a speed, m/s, by kelvin above the
// air. Turbulent forced convection: Nu ~ Re^0.8 (heat-transfer handbooks).
func heatLoss(speed, outsideC float64) float64 {
	loss := standingLoss + movingLoss*math.Pow(speed/movingAt, 0.8)
	if outsideC < heaterBelow {
		loss += heaterLoss
	}
	return loss
}

// throttled tells a petrol engine's air flow from a diesel's: the one has low
// manifold pressure at idle, the other breathes freely. Without a pressure the
// air per turn decides; 0.45 g is that of a 5 L petrol engine at idle. Judgement.
func throttled(air, n, mapp []float64) bool {
	var p, perTurn []float64
	for i := range air {
		if n == nil || n[i] > 18 || n[i] < 8 {
			continue
		}
		perTurn = append(perTurn, air[i]/n[i])
		if mapp != nil {
			p = append(p, mapp[i])
		}
	}
	if len(p) > 10 {
		return stat.Median(p) < 70e3
	}
	if len(perTurn) > 10 {
		return stat.Median(perTurn) < 0.45e-3
	}
	return false
}

// shutRate is the rate in K/s at which coolant at c would move with the
// thermostat shut, over rows i to k of the balance; with more heat than
// thought by `more` standard uncertainties.
func (h balance) shutRate(i, k int, c, more float64) float64 {
	q, u := stat.Mean(h.in[i:k]), stat.Mean(h.loss[i:k])
	return (q*(1+more*h.sigma) - u*(c-h.outC)) / heatCapacity
}

// shutLevel is the temperature at which the losses would balance the heat with
// the thermostat shut, at worst: with less heat than thought by nineInTen standard
// uncertainties, and in the cold with the cabin heater at full, which no log tells.
func (h balance) shutLevel(i, k int) float64 {
	loss := stat.Mean(h.loss[i:k])
	if h.outC < heaterBelow {
		loss += heaterFull - heaterLoss
	}
	return h.outC + stat.Mean(h.in[i:k])*(1-nineInTen*h.sigma)/loss
}

// totals sums the heat from row 0 to k, against what it takes to reach the opening.
func (h balance) totals(time, c []float64, k int, startC, openC float64) HeatIn {
	given, lost := 0.0, 0.0
	for i := 1; i < k; i++ {
		dt := math.Min(time[i]-time[i-1], 30)
		given += h.in[i] * dt
		if !math.IsNaN(c[i]) {
			lost += h.loss[i] * math.Max(0, c[i]-h.outC) * dt
		}
	}
	need := heatCapacity*math.Max(0, openC-startC) + lost
	return HeatIn{Given: Estimate{given, given * h.sigma}, Needed: Estimate{need, need * neededSpread}, From: h.from}
}
