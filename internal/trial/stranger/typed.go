package stranger

import (
	"fmt"
	"math"
	"strings"
)

// typed is what of the car is written into the job: never all of it.
type typed struct {
	vehicle []string
	shop    []string
}

func drawTyped(c *Car, dy day, m *mechanic, d draws) (t typed) {
	add := func(habit, format string, args ...any) {
		if d.may(habit) {
			t.vehicle = append(t.vehicle, fmt.Sprintf(format, args...))
		}
	}
	fuel := "petrol"
	if c.Diesel {
		fuel = "diesel"
	}
	add("types-fuel", "fuel: %s", fuel)
	add("types-displacement", "displacement: %.1f L", c.Litres)
	add("types-cylinders", "cylinders: %d", c.Cylinders)
	add("types-power", "power: %.0f kW", c.KW)
	add("types-mass", "mass: %.0f kg", 50*math.Round(c.Mass/50))
	add("types-coolant", "coolant: {capacity: %.1f L}", c.fill())
	if d.may("types-thermostat") {
		side := "outlet"
		if c.OnInlet {
			side = "inlet"
		}
		t.vehicle = append(t.vehicle, fmt.Sprintf("thermostat: {rating: %.0f °C, sits: %s}", c.RatedC, side))
	}
	// A pulsed fan has no word of its own.
	fan := [...]string{"electric", "two-speed", "electric", "viscous"}[c.FanKind]
	if d.may("types-fan") {
		switch {
		case c.FanKind != Viscous && d.may("types-fan-on"):
			t.vehicle = append(t.vehicle, fmt.Sprintf("fan: {kind: %s, count: %d, on: %.0f °C}", fan, c.FanCount, c.FanOnC))
		case c.FanKind != Viscous && d.may("types-fan-count"):
			t.vehicle = append(t.vehicle, fmt.Sprintf("fan: {kind: %s, count: %d}", fan, c.FanCount))
		default:
			t.vehicle = append(t.vehicle, fmt.Sprintf("fan: {kind: %s}", fan))
		}
	}
	add("types-cap", "cap: %.1f bar", c.CapPa/1e5)
	t.shop = append(t.shop, fmt.Sprintf("ambient: %.0f °C", dy.shopC+m.air))
	if dy.altitude > 300 && d.may("types-altitude") {
		t.shop = append(t.shop, fmt.Sprintf("altitude: %.0f m", 100*math.Round(dy.altitude/100)))
	}
	return t
}

// fill is the whole system's coolant, L.
func (c *Car) fill() float64 {
	v := c.VBlock + c.VHead + c.VUpper + c.VRadiator + c.VLower + c.VHeater
	if c.Tank {
		v += (1 - tankShare) * c.VTank
	}
	return 1e3 * v
}

// Stage is how much of a case is told.
type Stage struct {
	Name        string
	Tests, Logs bool
}

// Stages are the four that are measured.
func Stages() []Stage {
	return []Stage{
		{"complaint", false, false}, {"complaint and log", false, true},
		{"tests without log", true, false}, {"all tests and log", true, true},
	}
}

// LogName is how a job file calls its log.
const LogName = "log.csv"

// YAML writes the case as a job file, as much of it as the stage tells.
func (k *Case) YAML(st Stage, log string) []byte {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("weephole: 1")
	line("job: %s", k.Name)
	line("shop: {%s}", strings.Join(k.typed.shop, ", "))
	if len(k.typed.vehicle) > 0 {
		line("vehicle:")
		for _, v := range k.typed.vehicle {
			line("  %s", v)
		}
	}
	line("complaint:")
	list := func(key string, words []string) {
		if len(words) > 0 {
			line("  %s: [%s]", key, strings.Join(words, ", "))
		}
	}
	list("signs", k.Complaint.Signs)
	list("when", k.Complaint.When)
	list("fine", k.Complaint.Fine)
	if !math.IsNaN(k.Complaint.AirC) {
		line("  ambient: %.0f °C", k.Complaint.AirC)
	}
	if k.Complaint.Badly != "" {
		line("  overheated: {badly: %s}", k.Complaint.Badly)
	}
	var findings []string
	if st.Tests {
		for i := range k.Findings {
			findings = append(findings, k.Findings[i].yaml())
		}
	}
	if st.Logs && len(k.Log) > 0 {
		findings = append(findings, fmt.Sprintf("{check: warm-up-log, trace: %s}", log))
	}
	if len(findings) > 0 {
		line("findings:")
		for _, f := range findings {
			line("  - %s", f)
		}
	}
	return []byte(b.String())
}

// units by reading, as a mechanic would type them.
func typedReading(check, place string, x float64) string {
	switch {
	case check == "freeze-point":
		return fmt.Sprintf("%.0f %%", 100*x)
	case place == "held":
		return fmt.Sprintf("%.0f %%", 100*x)
	case place == "pressure":
		return fmt.Sprintf("%.0f kPa", x/1e3)
	case place == "difference", place == "drop", place == "spread":
		return fmt.Sprintf("%.1f K", x)
	}
	return fmt.Sprintf("%.1f °C", x)
}

func (f *Finding) yaml() string {
	var b strings.Builder
	fmt.Fprintf(&b, "{check: %s", f.Check)
	if f.Word != "" {
		fmt.Fprintf(&b, ", found: %s", f.Word)
	}
	if len(f.Order) > 0 {
		b.WriteString(", read: {")
		for i, p := range f.Order {
			if i > 0 {
				b.WriteString(", ")
			}
			fmt.Fprintf(&b, "%s: %s", p, typedReading(f.Check, p, f.Read[p]))
		}
		b.WriteString("}")
	}
	b.WriteString("}")
	return b.String()
}

// CSV is the log: whole degrees, a row a second.
func (k *Case) CSV() []byte {
	var b strings.Builder
	air := k.Car != nil && !k.Car.Diesel
	b.WriteString("Time (s),Coolant temperature (°C),Engine speed (rpm),Vehicle speed (km/h),Intake air temperature (°C)")
	if air {
		b.WriteString(",Mass air flow (g/s)")
	}
	b.WriteString("\n")
	for _, r := range k.Log {
		fmt.Fprintf(&b, "%.0f,%.0f,%.0f,%.0f,%.0f", r.second, r.reading, r.rpm, r.kmh, r.intake)
		if air {
			fmt.Fprintf(&b, ",%.2f", 1e3*r.air)
		}
		b.WriteString("\n")
	}
	return []byte(b.String())
}
