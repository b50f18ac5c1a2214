package main

import (
	"fmt"
	"math"
	"strings"

	"weephole/coolant"
	"weephole/quantity"
)

// mixAnswer is the answer in SI units; its JSON names them. Absent is what was not asked
// for, or what nobody knows, which a note then says.
type mixAnswer struct {
	Cautions     []string    `json:"cautions"`
	Glycol       string      `json:"glycol"`
	Strength     float64     `json:"strength_by_volume"`
	MassShare    float64     `json:"strength_by_mass"`
	FreezingC    *float64    `json:"freezing_c,omitempty"`
	AltitudeM    float64     `json:"altitude_m"`
	AirPa        float64     `json:"air_pressure_pa"`
	BoilingOpenC float64     `json:"boiling_open_c"`
	CapPa        *float64    `json:"cap_pa_gauge,omitempty"`
	BoilingCapC  *float64    `json:"boiling_under_cap_c,omitempty"`
	BoilingDoubt float64     `json:"boiling_may_be_lower_by_k"`
	Refill       *mixRefill  `json:"refill,omitempty"`
	Renewal      *mixRenewal `json:"renewal,omitempty"`
	Notes        []string    `json:"notes,omitempty"`
}

// mixRefill is the way to another strength. Shares are of the whole system.
type mixRefill struct {
	Target     float64  `json:"target_by_volume"`
	FreezingC  *float64 `json:"freezing_c,omitempty"`
	Drains     int      `json:"drain_and_refills"`
	DrainShare float64  `json:"drain_share_each_time"`
	DrainM3    *float64 `json:"drain_m3_each_time,omitempty"`
	Fill       float64  `json:"fill_by_volume"`
}

// mixRenewal is the way to new coolant.
type mixRenewal struct {
	Renewed float64 `json:"renewed_share"`
	Drains  int     `json:"drain_and_refills"`
	Reached float64 `json:"renewed_share_reached"`
}

func (q mixQuestion) answer() (a mixAnswer, err error) {
	mix, err := coolant.NewMix(q.glycol, float64(q.strength))
	if err != nil {
		return a, fmt.Errorf("--strength: %w", err)
	}
	a = mixAnswer{
		Cautions: mixCautions, Glycol: q.glycol.String(),
		Strength: mix.VolumeFraction(), MassShare: mix.MassFraction(),
		FreezingC:    freezing(q.glycol, mix.VolumeFraction()),
		AltitudeM:    float64(q.altitude),
		BoilingDoubt: mix.BoilingDoubtK(),
	}
	if a.FreezingC == nil {
		a.Notes = append(a.Notes, fmt.Sprintf("There is no freezing figure for a mix stronger than %.1f %%. "+
			"More glycol is not safer: it carries heat worse.", 100*coolant.MaxVolumeFraction(q.glycol)))
	}
	if q.atLeast {
		a.Notes = append(a.Notes, fmt.Sprintf("The tester reads colder than the table goes. The mix is %.0f %% or stronger; its figures are those of %.0f %%.",
			100*float64(q.strength), 100*float64(q.strength)))
	}
	if a.AirPa, err = coolant.PressureUnderCapPa(0, a.AltitudeM); err != nil {
		return a, fmt.Errorf("--altitude: %w", err)
	}
	a.BoilingOpenC = mix.BoilingC(a.AirPa)
	if q.cap != nil {
		absolute, err := coolant.PressureUnderCapPa(q.cap.Pascal(), a.AltitudeM)
		if err != nil {
			return a, fmt.Errorf("--cap: %w", err)
		}
		under, err := coolant.BoilingC(q.glycol, mix.VolumeFraction(), absolute)
		if err != nil {
			return a, fmt.Errorf("--cap: %w", err)
		}
		a.CapPa, a.BoilingCapC = new(q.cap.Pascal()), &under
	}
	if q.target != nil {
		if a.Refill, err = q.refill(); err != nil {
			return a, err
		}
	}
	if q.renew != nil {
		a.Renewal, err = q.renewal()
	}
	return a, err
}

func (q mixQuestion) refill() (*mixRefill, error) {
	now, target := float64(q.strength), float64(*q.target)
	fill := 0.0 // water weakens
	switch {
	case q.fill != nil:
		fill = float64(*q.fill)
	case target > now: // concentrate strengthens
		fill = 1
	}
	plan, err := coolant.PlanRefill(1, float64(q.drainable), now, target, fill)
	if err != nil {
		return nil, fmt.Errorf("from %s to %s: %w", q.strength, *q.target, err)
	}
	r := &mixRefill{Target: target, FreezingC: freezing(q.glycol, target),
		Drains: plan.Drains, DrainShare: plan.Drain, Fill: fill}
	if q.system != nil {
		r.DrainM3 = new(plan.Drain * float64(*q.system))
	}
	return r, nil
}

func (q mixQuestion) renewal() (*mixRenewal, error) {
	n, err := coolant.DrainsToRenew(float64(q.drainable), float64(*q.renew))
	if err != nil {
		return nil, fmt.Errorf("--renew: %w", err)
	}
	old, err := coolant.AfterDrains(1, 0, float64(q.drainable), n)
	if err != nil {
		return nil, fmt.Errorf("--renew: %w", err)
	}
	return &mixRenewal{Renewed: float64(*q.renew), Drains: n, Reached: 1 - old}, nil
}

// freezing is nil where there is no figure.
func freezing(g coolant.Glycol, volume float64) *float64 {
	c, err := coolant.FreezingC(g, volume)
	if err != nil {
		return nil
	}
	return &c
}

// rounded leaves the digits that mean something, and the same ones on every processor.
func (a mixAnswer) rounded() mixAnswer {
	in := func(x *float64, places float64) *float64 {
		if x == nil {
			return nil
		}
		return new(math.Round(*x*places) / places)
	}
	a.MassShare = *in(&a.MassShare, 1e4)
	a.Strength = *in(&a.Strength, 1e4)
	a.AirPa = *in(&a.AirPa, 1)
	a.BoilingOpenC = *in(&a.BoilingOpenC, 100)
	a.FreezingC, a.BoilingCapC, a.CapPa = in(a.FreezingC, 100), in(a.BoilingCapC, 100), in(a.CapPa, 1)
	if a.Refill != nil {
		r := *a.Refill
		r.Target, r.DrainShare = *in(&r.Target, 1e4), *in(&r.DrainShare, 1e4)
		r.FreezingC, r.DrainM3 = in(r.FreezingC, 100), in(r.DrainM3, 1e6)
		a.Refill = &r
	}
	if a.Renewal != nil {
		r := *a.Renewal
		r.Reached = *in(&r.Reached, 1e4)
		a.Renewal = &r
	}
	return a
}

// text is the answer as a person reads it, in the shop's units, cautions first.
func (a mixAnswer) text(u quantity.Units) string {
	var b strings.Builder
	line := func(label, value string) { fmt.Fprintf(&b, "  %-24s %s\n", label, value) }
	b.WriteString("CAUTION\n")
	for _, c := range a.Cautions {
		fmt.Fprintf(&b, "  %s\n", c)
	}
	b.WriteString("\nMIX\n")
	line("glycol", a.Glycol)
	line("strength", fmt.Sprintf("%s by volume, %s by mass", u.Share(quantity.Share(a.Strength)), u.Share(quantity.Share(a.MassShare))))
	line("first ice at", frost(u, a.FreezingC))
	boils := "boils open"
	if a.AltitudeM != 0 {
		boils += " at " + u.Length(quantity.Length(a.AltitudeM))
	}
	line(boils, u.Temperature(quantity.Temperature(a.BoilingOpenC)))
	if a.CapPa != nil {
		line("boils under "+u.Pressure(quantity.Pressure(*a.CapPa))+" cap", u.Temperature(quantity.Temperature(*a.BoilingCapC)))
	}
	if a.BoilingDoubt > 0 {
		line("", "real coolant may boil up to "+u.TemperatureDifference(quantity.TemperatureDifference(a.BoilingDoubt))+" lower")
	}
	if r := a.Refill; r != nil {
		fmt.Fprintf(&b, "\nTO REACH %s\n", u.Share(quantity.Share(r.Target)))
		line("first ice then at", frost(u, r.FreezingC))
		line("do", r.sentence(u))
	}
	if r := a.Renewal; r != nil {
		fmt.Fprintf(&b, "\nTO RENEW %s\n", u.Share(quantity.Share(r.Renewed)))
		line("do", fmt.Sprintf("%s; %s is new then", drains(r.Drains), u.Share(quantity.Share(r.Reached))))
	}
	for _, n := range a.Notes {
		fmt.Fprintf(&b, "\n%s\n", n)
	}
	return b.String()
}

func (r mixRefill) sentence(u quantity.Units) string {
	if r.Drains == 0 {
		return "nothing: the mix is there already"
	}
	amount := u.Share(quantity.Share(r.DrainShare)) + " of the system"
	if r.DrainM3 != nil {
		amount = u.Volume(quantity.Volume(*r.DrainM3))
	}
	with := u.Share(quantity.Share(r.Fill)) + " mix"
	switch r.Fill {
	case 0:
		with = "water (distilled or demineralised)"
	case 1:
		with = "concentrate"
	}
	if r.Drains == 1 {
		return fmt.Sprintf("drain %s, fill the same of %s", amount, with)
	}
	return fmt.Sprintf("%s: each time drain %s, fill the same of %s", drains(r.Drains), amount, with)
}

func drains(n int) string {
	if n == 1 {
		return "1 drain-and-refill"
	}
	return fmt.Sprintf("%d drain-and-refills", n)
}

func frost(u quantity.Units, c *float64) string {
	if c == nil {
		return "not known"
	}
	return u.TemperatureUp(quantity.Temperature(*c))
}
