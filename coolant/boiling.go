package coolant

import (
	"fmt"
	"math"
)

// antoine gives a vapour pressure: ln(p/Pa) = a - b/(T/K + c).
type antoine struct{ a, b, c float64 }

func (v antoine) pressurePa(tK float64) float64 { return math.Exp(v.a - v.b/(tK+v.c)) }

func (v antoine) boilingK(pPa float64) float64 { return v.b/(v.a-math.Log(pPa)) - v.c }

// BoilingC is the temperature in degC at which a mix of the given volume fraction of glycol, 0
// to 1, begins to boil under pressureAbsPa, absolute, 10 kPa to 1 MPa. See the package comment
// for how far commercial concentrate and propylene glycol depart from it.
func BoilingC(kind Glycol, volumeFraction, pressureAbsPa float64) (float64, error) {
	m, err := NewMix(kind, volumeFraction)
	if err != nil {
		return 0, fmt.Errorf("boiling point: %w", err)
	}
	if t := data(); !(pressureAbsPa >= t.minPa && pressureAbsPa <= t.maxPa) {
		return 0, fmt.Errorf("boiling point: absolute pressure %g Pa is outside %g to %g Pa", pressureAbsPa, t.minPa, t.maxPa)
	}
	return m.BoilingC(pressureAbsPa), nil
}

// BoilingC is the mix's boiling point in degC under pressureAbsPa, absolute. Outside 10 kPa to
// 1 MPa it holds the value of the nearer end.
//
// It is the bubble point of an ideal solution (Raoult's law):
//
//	xw pw(T) + xg pg(T) = p
//
// with pw of IAPWS-IF97 and pg of an Antoine equation, found by Newton's method on ln p.
func (m Mix) BoilingC(pressureAbsPa float64) float64 {
	t := data()
	p := min(max(pressureAbsPa, t.minPa), t.maxPa)
	if m.moleGlycol == 0 {
		return t.waterBoilingK(p) - t.zeroK
	}
	vapour := t.fluids[m.kind].vapour
	// The mix boils between water and glycol. In 1/T the logarithm of a sum of vapour pressures
	// is convex and nearly straight, so Newton's method there overshoots once at most.
	low, high := t.waterBoilingK(p), vapour.boilingK(p)
	tK := low
	for range 50 {
		water, slope := t.waterPressurePa(tK)
		water, slope = (1-m.moleGlycol)*water, (1-m.moleGlycol)*slope
		glycol := m.moleGlycol * vapour.pressurePa(tK)
		slope += glycol * vapour.b / ((tK + vapour.c) * (tK + vapour.c))
		step := math.Log(p/(water+glycol)) * (water + glycol) / (slope * tK * tK)
		next := min(max(1/(1/tK-step), low), high)
		if math.Abs(next-tK) < 1e-9*tK {
			return next - t.zeroK
		}
		tK = next
	}
	return tK - t.zeroK
}

// BoilingDoubtK is how many kelvin lower than BoilingC the true boiling point may lie, by the
// spread of published figures and models around it: 0 for plain water, else 2 to 8 K. For
// propylene glycol above 60 mass percent nothing was compared, and it may be more.
func (m Mix) BoilingDoubtK() float64 {
	f := &data().fluids[m.kind]
	switch {
	case m.volume == 0:
		return 0
	case m.volume <= 0.5: // where the public figures for half and half lie
		return f.doubtK
	}
	return f.doubtStrong
}

// waterPressurePa is the saturation pressure of water in Pa and its slope in Pa/K:
// IAPWS R7-97(2012), equations (29b) and (30).
func (t *tables) waterPressurePa(tK float64) (pressure, slope float64) {
	n := &t.if97
	theta := tK + n[9]/(tK-n[10])
	dTheta := 1 - n[9]/((tK-n[10])*(tK-n[10]))
	a := (theta+n[1])*theta + n[2]
	b := (n[3]*theta+n[4])*theta + n[5]
	c := (n[6]*theta+n[7])*theta + n[8]
	da, db, dc := 2*theta+n[1], 2*n[3]*theta+n[4], 2*n[6]*theta+n[7]
	root := math.Sqrt(b*b - 4*a*c)
	dRoot := (b*db - 2*(da*c+a*dc)) / root
	beta := 2 * c / (-b + root)
	dBeta := (2*dc - beta*(-db+dRoot)) / (-b + root)
	beta2 := beta * beta
	return 1e6 * beta2 * beta2, 4e6 * beta2 * beta * dBeta * dTheta
}

// waterBoilingK is the saturation temperature of water in K at pPa: IAPWS R7-97(2012), equation (31).
func (t *tables) waterBoilingK(pPa float64) float64 {
	n := &t.if97
	beta := math.Sqrt(math.Sqrt(pPa / 1e6))
	e := (beta+n[3])*beta + n[6]
	f := (n[1]*beta+n[4])*beta + n[7]
	g := (n[2]*beta+n[5])*beta + n[8]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	return (n[10] + d - math.Sqrt((n[10]+d)*(n[10]+d)-4*(n[9]+n[10]*d))) / 2
}
