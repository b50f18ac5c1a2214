package coolant_test

import (
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"weephole/coolant"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the measured agreement into docs/coolant.md")

// comparison gathers the differences between this package and one set of values.
type comparison struct {
	what, against string
	limit         float64 // worst difference that passes
	unit          string  // "%" for relative differences, else absolute
	n             int
	square, worst float64
}

func (c *comparison) add(got, want float64) {
	d := got - want
	if c.unit == "%" {
		d = 100 * (got/want - 1)
	}
	c.n++
	c.square += d * d
	if !(math.Abs(d) <= math.Abs(c.worst)) { // so that NaN sticks
		c.worst = d
	}
}

// print leaves out what is only the rounding of floats, which differs between processors.
func (c *comparison) print(format string, v float64) string {
	if math.Abs(v) < 1e-6 {
		return "0"
	}
	return fmt.Sprintf(format, v) + " " + c.unit
}

// agreement is the order in which the document lists the comparisons.
type agreement struct {
	rows []*comparison
}

func (a *agreement) row(what, against string, limit float64, unit string) *comparison {
	for _, c := range a.rows {
		if c.what == what && c.against == against {
			return c
		}
	}
	c := &comparison{what: what, against: against, limit: limit, unit: unit}
	a.rows = append(a.rows, c)
	return c
}

func (a *agreement) markdown() string {
	var b strings.Builder
	b.WriteString("| what | against | points | rms | worst | limit |\n| --- | --- | ---: | ---: | ---: | ---: |\n")
	for _, c := range a.rows {
		fmt.Fprintf(&b, "| %s | %s | %d | %s | %s | %g %s |\n", c.what, c.against, c.n,
			c.print("%.2g", math.Sqrt(c.square/float64(c.n))), c.print("%+.2g", c.worst), c.limit, c.unit)
	}
	return b.String()
}

// TestAgreementWithPublishedValues measures every difference, holds it to its limit, and
// holds the document to what was measured. The limits lie just above the spread between the
// published sources themselves.
func TestAgreementWithPublishedValues(t *testing.T) {
	var a agreement
	compareProperties(t, &a)
	compareStrong(t, &a)
	compareWater(t, &a)
	compareFreezing(t, &a)
	compareBoiling(t, &a)
	compareAir(t, &a)
	for _, c := range a.rows {
		if !(math.Abs(c.worst) <= c.limit) || c.n == 0 {
			t.Errorf("%s against %s: %d points, worst %+.4g %s, limit %g", c.what, c.against, c.n, c.worst, c.unit, c.limit)
		}
	}
	holdDocument(t, "../docs/coolant.md", "agreement", a.markdown())
}

var properties = []struct {
	name, column, checkpoint string
	of                       func(coolant.Mix, float64) float64
	scale                    float64 // column's unit to SI
}{
	{"density", "density_kg_m3", "density", coolant.Mix.DensityKgM3, 1},
	{"heat capacity", "cp_J_kgK", "specific_heat", coolant.Mix.HeatCapacityJKgK, 1},
	{"conductivity", "conductivity_W_mK", "conductivity", coolant.Mix.ConductivityWMK, 1},
	{"viscosity", "viscosity_mPas", "viscosity", coolant.Mix.ViscosityPaS, 1e-3},
}

func compareProperties(t *testing.T, a *agreement) {
	for _, row := range table(t, "glycol_melinder_computed.csv") {
		m := byMass(t, kind(t, row["glycol"]), number(t, row["mass_fraction"]))
		tC := number(t, row["T_C"])
		for _, p := range properties {
			a.row(p.name, "the same polynomials in Python", 0.01, "%").add(p.of(m, tC), number(t, row[p.column])*p.scale)
		}
	}
	for _, row := range table(t, "glycol_second_implementation_checkpoints.csv") {
		g := kind(t, row["glycol"])
		for _, p := range properties {
			if p.checkpoint == row["property"] {
				m := byMass(t, g, number(t, row["mass_fraction"]))
				a.row(p.name, "another library's test values", 0.1, "%").add(p.of(m, number(t, row["T_C"])), number(t, row["expected_value"]))
			}
		}
	}
	// INDEPENDENT: the ASHRAE tables; hot is 60 to 100 degC, where engines work.
	hot := map[string]float64{"density": 1, "heat capacity": 1.1, "viscosity": 6}
	wide := map[string]float64{"density": 1, "heat capacity": 2.2, "conductivity": 6.7, "viscosity": 18}
	conductivity := map[string]float64{"ethylene": 3.3, "propylene": 5.3}
	for _, row := range table(t, "glycol_ashrae2001_table.csv") {
		v, tC := number(t, row["volume_fraction"]), number(t, row["T_C"])
		g := kind(t, row["glycol"])
		if v > coolant.MaxVolumeFraction(g) || tC < 0 {
			continue
		}
		m := mix(t, g, v)
		for _, p := range properties {
			want := number(t, row[p.column]) * p.scale
			if tC < 60 {
				a.row(p.name+", 0 to 60 °C", "ASHRAE 2001 tables", wide[p.name], "%").add(p.of(m, tC), want)
				continue
			}
			limit, name := hot[p.name], p.name
			if p.name == "conductivity" {
				limit, name = conductivity[row["glycol"]], p.name+" ("+row["glycol"]+")"
			}
			a.row(name+", 60 to 100 °C", "ASHRAE 2001 tables", limit, "%").add(p.of(m, tC), want)
		}
	}
}

// compareStrong looks above the data, where ethylene glycol's figures are estimates.
func compareStrong(t *testing.T, a *agreement) {
	for _, row := range table(t, "glycol_strong_viscosity.csv") {
		v := number(t, row["volume_fraction"])
		name := "viscosity above 60 mass %, estimated"
		if v == 1 {
			name = "viscosity of pure ethylene glycol, from memory"
		}
		// Below 60 mass percent the same table already reads 5 to 20 % less than the polynomials.
		a.row(name, "a two-digit handbook table", 20, "%").
			add(mix(t, kind(t, row["glycol"]), v).ViscosityPaS(number(t, row["T_C"])), number(t, row["viscosity_mPas"])/1000)
	}
}

func compareWater(t *testing.T, a *agreement) {
	within := map[string]float64{"density": 0.12, "heat capacity": 0.1, "conductivity": 0.7, "viscosity": 2}
	beyond := map[string]float64{"density": 0.6, "heat capacity": 0.7, "conductivity": 0.6, "viscosity": 19}
	for _, row := range table(t, "water_properties_iapws.csv") {
		tC := number(t, row["T_C"])
		for _, g := range coolant.Glycols() {
			m := mix(t, g, 0)
			for _, p := range properties {
				want := number(t, row[p.column]) * p.scale
				switch {
				case tC > 130:
				case tC > 100:
					a.row(p.name+" of water, carried on to 130 °C", "IAPWS", beyond[p.name], "%").add(p.of(m, tC), want)
				case tC >= 5:
					a.row(p.name+" of water, 5 to 100 °C", "IAPWS", within[p.name], "%").add(p.of(m, tC), want)
				}
			}
		}
	}
	for _, row := range table(t, "water_saturation_90_140C.csv") {
		got, err := coolant.BoilingC(coolant.Ethylene, 0, number(t, row["P_sat_kPa_abs"])*1000)
		if err != nil {
			t.Fatal(err)
		}
		a.row("boiling of water", "IAPWS-IF97 in Python", 0.001, "K").add(got, number(t, row["T_C"]))
	}
}

func compareFreezing(t *testing.T, a *agreement) {
	for _, row := range table(t, "glycol_freezing_points.csv") {
		g, w, want := kind(t, row["glycol"]), number(t, row["mass_fraction"]), number(t, row["freezing_point_C"])
		v := volumeOf(t, g, w)
		got, err := coolant.FreezingC(g, v)
		if err != nil {
			t.Fatal(err)
		}
		switch row["dataset"] {
		case "ASHRAE2001":
			a.row("freezing", "ASHRAE 2001 table", 1e-9, "K").add(got, want)
			a.row("volume fraction", "ASHRAE 2001 table", 1e-9, "").add(v, number(t, row["volume_fraction"]))
		default:
			limit := map[coolant.Glycol]float64{coolant.Ethylene: 3, coolant.Propylene: 1.5}[g]
			a.row("freezing ("+g.String()+")", "Melinder 2010", limit, "K").add(got, want)
		}
	}
	for _, row := range table(t, "glycol_freezing_published_other.csv") {
		v := number(t, row["volume_percent"]) / 100
		g := kind(t, row["glycol"])
		if v > coolant.MaxVolumeFraction(g) {
			continue
		}
		got, err := coolant.FreezingC(g, v)
		if err != nil {
			t.Fatal(err)
		}
		a.row("freezing ("+g.String()+")", "a handbook table and the 50 % limit of ASTM D3306", 3, "K").add(got, number(t, row["freezing_point_C_published"]))
	}
}

func compareBoiling(t *testing.T, a *agreement) {
	columns := []struct {
		name string
		g    coolant.Glycol
		w    float64
	}{
		{"T_boil_C_water", coolant.Ethylene, 0},
		{"T_boil_C_EG_30mass", coolant.Ethylene, 0.3},
		{"T_boil_C_EG_40mass", coolant.Ethylene, 0.4},
		{"T_boil_C_EG_50mass", coolant.Ethylene, 0.5},
		{"T_boil_C_EG_52p4mass_eq_50vol", coolant.Ethylene, 0.524},
		{"T_boil_C_EG_60mass", coolant.Ethylene, 0.6},
		{"T_boil_C_PG_50mass", coolant.Propylene, 0.5},
	}
	for _, row := range table(t, "boiling_point_vs_cap_and_altitude.csv") {
		pPa, err := coolant.PressureUnderCapPa(number(t, row["cap_kPa_gauge"])*1000, number(t, row["altitude_m"]))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range columns {
			a.row("boiling under a cap at altitude", "the same model in Python", 0.02, "K").
				add(byMass(t, c.g, c.w).BoilingC(pPa), number(t, row[c.name]))
		}
	}
	for _, row := range table(t, "boiling_EG_water_antoine_and_models.csv") {
		w := number(t, row["EG_mass_percent"]) / 100
		got := byMass(t, coolant.Ethylene, w).BoilingC(number(t, row["P_abs_kPa"]) * 1000)
		name, limit := "boiling of ethylene glycol mixes up to 80 mass %", 0.1
		if w > 0.8 {
			name, limit = "boiling of ethylene glycol mixes above 80 mass %", 2.5
		}
		a.row(name, "vapour-pressure constants of the mixes", limit, "K").add(got, number(t, row["T_boil_C_from_MEGlobal_constants"]))
	}
	for _, row := range table(t, "boiling_PG_water_models.csv") {
		w := number(t, row["PG_mass_percent"]) / 100
		got := byMass(t, coolant.Propylene, w).BoilingC(number(t, row["P_abs_kPa"]) * 1000)
		// Nothing measured decides between the models; the limits only keep their spread known.
		name, limit := "boiling of propylene glycol mixes up to 50 mass %", 5.5
		if w > 0.5 {
			name, limit = "boiling of propylene glycol mixes above 50 mass %", 8
		}
		a.row(name, "UNIFAC", limit, "K").add(got, number(t, row["T_boil_C_UNIFAC"]))
		a.row(name, "UNIFAC Dortmund", limit, "K").add(got, number(t, row["T_boil_C_UNIFAC_Dortmund"]))
	}
	for _, row := range table(t, "boiling_published_points.csv") {
		g, v, name := coolant.Ethylene, 0.5, "boiling at 50 volume %"
		switch {
		case row["fluid"] == "water":
			v, name = 0, "boiling of water"
		case strings.HasPrefix(row["composition"], "70"):
			v, name = 0.7, "boiling at 70 volume % concentrate"
		case row["fluid"] == "PG":
			g, name = coolant.Propylene, "boiling at 50 volume % (propylene)"
		}
		got := mix(t, g, v).BoilingC(coolant.PressureAtAltitudePa(0) + number(t, row["cap_psi_gauge"])*6894.75729316836)
		limit := 2.2
		if v == 0.7 {
			limit = 3.5
		}
		a.row(name, "public figures", limit, "K").add(got, number(t, row["T_boil_C_published"]))
	}
}

func compareAir(t *testing.T, a *agreement) {
	for _, row := range table(t, "standard_atmosphere_pressure.csv") {
		got := coolant.PressureAtAltitudePa(number(t, row["altitude_m"])) / 1000
		a.row("air pressure at altitude", "the ICAO formula in Python", 0.01, "%").add(got, number(t, row["P_kPa_ICAO_formula"]))
		if printed := row["P_kPa_table"]; printed != "" {
			a.row("air pressure at altitude", "a handbook table", 0.1, "%").add(got, number(t, printed))
		}
	}
}

// holdDocument compares the part of a document between two markers with what was measured.
func holdDocument(t *testing.T, path, name, measured string) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	start, end := "<!-- "+name+" -->\n", "<!-- end of "+name+" -->"
	before, rest, ok := strings.Cut(string(text), start)
	held, after, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatalf("%s: no part between %q and %q", path, start, end)
	}
	if *update {
		if err := os.WriteFile(path, []byte(before+start+measured+end+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(held, measured); diff != "" {
		t.Errorf("%s is not what was measured (go test ./coolant -update writes it):\n%s", path, diff)
	}
}

func mix(t *testing.T, g coolant.Glycol, volume float64) coolant.Mix {
	t.Helper()
	m, err := coolant.NewMix(g, volume)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func byMass(t *testing.T, g coolant.Glycol, mass float64) coolant.Mix {
	t.Helper()
	return mix(t, g, volumeOf(t, g, mass))
}

func volumeOf(t *testing.T, g coolant.Glycol, mass float64) float64 {
	t.Helper()
	v, err := coolant.MassToVolumeFraction(g, mass)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func kind(t *testing.T, word string) (g coolant.Glycol) {
	t.Helper()
	if err := g.UnmarshalText([]byte(word)); err != nil {
		t.Fatal(err)
	}
	return g
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// table reads a CSV file of the testdata folder into rows by column name.
func table(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	file, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	all, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}
