package quantity_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"weephole/quantity"
)

func TestUnitFactorsAgreeWithTheirSource(t *testing.T) {
	// What a row's unit is called here; a row that is not named is of another dimension.
	written := map[string]struct{ kind, unit string }{
		"psi": {"pressure", "psi"}, "atm": {"pressure", "atm"}, "bar": {"pressure", "bar"},
		"mmHg": {"pressure", "mmHg"}, "inHg (mercury 0 degC)": {"pressure", "inHg"},
		"inH2O (4 degC)": {"pressure", "inH2O"}, "kgf/cm2": {"pressure", "kgf/cm2"},
		"inch": {"length", "in"}, "foot": {"length", "ft"}, "mile": {"length", "mi"},
		"US gallon": {"volume", "gal"}, "US fluid ounce": {"volume", "fl oz"},
		"UK gallon": {"volume", "imp gal"}, "US quart": {"volume", "qt"}, "US pint": {"volume", "pt"},
		"mph": {"speed", "mph"}, "km/h": {"speed", "km/h"}, "degF difference": {"difference", "°F"},
	}
	seen := 0
	for _, row := range table(t, "testdata/unit_factors.csv") {
		w, ok := written[row["from_unit"]]
		if !ok {
			continue
		}
		seen++
		got, err := si[w.kind]("0.5 " + w.unit)
		if err != nil {
			t.Error(err)
			continue
		}
		near(t, row["from_unit"], got, number(t, row["factor"])*0.5, 1e-9)
	}
	if seen != len(written) {
		t.Errorf("%d rows found, want %d", seen, len(written))
	}
}

func TestConversionsAgreeWithTheirSource(t *testing.T) {
	one := map[string]struct {
		kind  string
		scale float64 // SI to the row's unit
	}{"kPa": {"pressure", 1e-3}, "psi": {"pressure", 1 / 6894.75729316836}, "L": {"volume", 1000}}
	for _, row := range table(t, "testdata/unit_conversion_examples.csv") {
		to, ok := one[row["to_unit"]]
		if !ok {
			continue
		}
		got, err := si[to.kind](row["input"])
		if err != nil {
			t.Error(err)
			continue
		}
		near(t, row["input"], got*to.scale, number(t, row["value"]), 1e-7) // printed to eight digits
	}
}

func TestTemperaturePointsAgree(t *testing.T) {
	for _, row := range table(t, "testdata/temperature_conversion_points.csv") {
		c, f := number(t, row["T_C"]), number(t, row["T_F"])
		for _, text := range []string{row["T_C"] + " °C", row["T_F"] + " °F", row["T_K"] + " K"} {
			got, err := quantity.ParseTemperature(text)
			if err != nil || math.Abs(got.Celsius()-c) > 1e-9 {
				t.Errorf("%s is %v (%v), want %v °C", text, float64(got), err, c)
			}
		}
		if got := quantity.Celsius(c).Fahrenheit(); math.Abs(got-f) > 1e-9 {
			t.Errorf("%v °C is %v °F, want %v", c, got, f)
		}
		if got := quantity.Fahrenheit(f).Celsius(); math.Abs(got-c) > 1e-9 {
			t.Errorf("%v °F is %v °C, want %v", f, got, c)
		}
	}
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if math.Abs(got-want) > relative*math.Abs(want) {
		t.Errorf("%s: got %.12g, want %.12g", what, got, want)
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// table reads a CSV file with a header into rows by column name.
func table(t *testing.T, path string) (rows []map[string]string) {
	t.Helper()
	file, err := os.Open(path)
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
