package quantity_test

import (
	"math"
	"strings"
	"testing"

	"weephole/quantity"

	"github.com/google/go-cmp/cmp"
)

// si hides the differences between the parsers: text in, SI number out.
var si = map[string]func(string) (float64, error){
	"temperature": plain(quantity.ParseTemperature),
	"difference":  plain(quantity.ParseTemperatureDifference),
	"pressure":    plain(quantity.ParsePressure),
	"volume":      plain(quantity.ParseVolume),
	"duration":    plain(quantity.ParseDuration),
	"length":      plain(quantity.ParseLength),
	"speed":       plain(quantity.ParseSpeed),
	"mass flow":   plain(quantity.ParseMassFlow),
	"share":       plain(quantity.ParseShare),
	"ratio":       plain(quantity.ParseRatio),
}

func plain[T ~float64](parse func(string) (T, error)) func(string) (float64, error) {
	return func(text string) (float64, error) {
		v, err := parse(text)
		return float64(v), err
	}
}

// Expected values are the definitions of the units, worked by hand, unless said otherwise.
func TestWhatTiredPeopleTypeIsRead(t *testing.T) {
	for _, c := range []struct {
		kind, text string
		want       float64
	}{
		{"temperature", "203 °F", 95},
		{"temperature", "203F", 95},
		{"temperature", "203 deg F", 95},
		{"temperature", "203 deg. f", 95},
		{"temperature", "203 degrees fahrenheit", 95},
		{"temperature", "203\u00a0℉", 95},
		{"temperature", "95,5 °C", 95.5},
		{"temperature", "95.5c", 95.5},
		{"temperature", "−40 °F", -40},
		{"temperature", "- 40 C", -40},
		{"temperature", "368.15 K", 95},
		{"difference", "18 °F", 10},
		{"difference", "10 °C", 10},
		{"difference", "-5 K", -5},
		{"pressure", "1.1 bar", 110000},
		{"pressure", "1,1bar", 110000},
		{"pressure", "110 kPa", 110000},
		{"pressure", "900 mbar", 90000},
		{"pressure", "16 psi", 110316.11669069376}, // 16 x 6894.75729316836, scipy.constants 1.10.1
		{"pressure", "16 PSIG", 110316.11669069376},
		{"pressure", "16 lb", 110316.11669069376},
		{"pressure", "-0.2 bar", -20000},
		{"volume", "7.5 qt", 0.007097647095}, // 7.5 x 0.000946352946, computed from the gallon
		{"volume", "7 1/2 quarts", 0.007097647095},
		{"volume", "7½ qt", 0.007097647095},
		{"volume", "6,5 l", 0.0065},
		{"volume", "0,125 L", 0.000125},
		{"volume", "500 cc", 0.0005},
		{"volume", "2 Gal", 0.007570823568},
		{"volume", "1 imp. gal", 0.00454609},
		{"ratio", "105 %", 1.05},
		{"ratio", "0.8", 0.8},
		{"duration", "10 min", 600},
		{"duration", "1h 20min", 4800},
		{"duration", "1 h, 20 min", 4800},
		{"duration", "1 hour and 20 minutes", 4800},
		{"duration", "1h20", 4800},
		{"duration", "0:12 h", 720},
		{"duration", "12:30 min", 750},
		{"duration", "1:02:03", 3723},
		{"duration", "90s", 90},
		{"length", "300 m", 300},
		{"length", "1000 ft", 304.8},
		{"length", "1 000 ft", 304.8},
		{"length", "1'000 m", 1000},
		{"length", "1.234,5 m", 1234.5},
		{"length", "1,234.5 m", 1234.5},
		{"length", "1,234,567 m", 1234567},
		{"length", "-50 m", -50},
		{"speed", "65 mph", 29.0576}, // 65 x 0.44704, scipy.constants 1.10.1
		{"speed", "36 km/h", 10},
		{"speed", "36 kph", 10},
		{"speed", "36 km per hour", 10},
		{"mass flow", "12 g/s", 0.012},
		{"mass flow", "60 lb/min", 0.45359237},
		{"share", "50 %", 0.5},
		{"share", "12,5%", 0.125},
		{"share", "0.5", 0.5},
		{"share", "30 percent", 0.3},
	} {
		t.Run(c.kind+" "+c.text, func(t *testing.T) {
			got, err := si[c.kind](c.text)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-c.want) > 1e-12*math.Abs(c.want) {
				t.Errorf("%q is %.17g, want %.17g", c.text, got, c.want)
			}
		})
	}
}

func TestAnErrorSaysWhatToWriteInstead(t *testing.T) {
	for _, c := range []struct{ kind, text, want string }{
		{"temperature", "203", `temperature "203" has no unit; write "203 °F" or "203 °C"`},
		{"temperature", "95°", `temperature "95°" has no unit; write "95 °F" or "95 °C"`},
		{"temperature", "95 celcius", `temperature "95 celcius" has an unknown unit "celcius"; write "95 °C"`},
		{"temperature", "16 psi", `temperature "16 psi" has a unit of pressure (psi); write "16 °F" or "16 °C"`},
		{"temperature", "", `temperature "" is empty; write "195 °F" or "90 °C"`},
		{"temperature", "warm", `temperature "warm" is not a number; write a number and its unit, such as "195 °F" or "90 °C"`},
		{"temperature", "about 95 °C", `temperature "about 95 °C" has something before its number; write a number and its unit, such as "195 °F" or "90 °C"`},
		{"share", "lots", `share "lots" is not a number; write a number and its unit, such as "12 %"`},
		{"temperature", "-300 °C", `temperature "-300 °C" cannot be: a temperature lies between absolute zero and 3000 °C`},
		{"pressure", "16 psia", `pressure "16 psia" is absolute (psia); a gauge reading, as a tester shows it, is meant; write a gauge pressure, such as "12 psi" or "12 bar"`},
		{"pressure", "-2 bar", `pressure "-2 bar" cannot be: a gauge pressure lies between full vacuum (-14.7 psi, -1.01 bar) and 1000 bar`},
		{"volume", "7 qrt", `volume "7 qrt" has an unknown unit "qrt"; write "7 qt"`},
		{"volume", "1/0 qt", `volume "1/0 qt" divides by zero; write a number and its unit, such as "12 qt" or "12 L"`},
		{"length", "1,000 ft", `length "1,000 ft" can be read two ways; write 1000 or 1.000`},
		{"length", "1.2.3 m", `length "1.2.3 m" holds a number with two decimal signs; write a number and its unit, such as "12 ft" or "12 m"`},
		{"speed", "65 mhp", `speed "65 mhp" has an unknown unit "mhp"; write "65 mph"`},
		{"duration", "90 m", `duration "90 m" has a unit of length (m); write "90 min" or "90 h"`},
		{"duration", "0:12", `duration "0:12" may be hours and minutes or minutes and seconds; write "0 h 12 min" or "0 min 12 s"`},
		{"duration", "1:75 h", `duration "1:75 h" has 60 or more after a colon; write "1 h 20 min"`},
		{"duration", "20 min 1 h", `duration "20 min 1 h" has its parts out of order; write the large before the small, such as "1 h 20 min"`},
		{"duration", "1 h -5 min", `duration "1 h -5 min" has an unknown unit "h -"; write "1 h"`},
		{"share", "50", `share "50" has no unit; write "50 %"`},
		{"share", "110 %", `share "110 %" cannot be: a share lies between 0 % and 100 %`},
		{"ratio", "1050 %", `share "1050 %" cannot be: a share of a rated value lies between 0 % and 1000 %`},
		{"ratio", "1.05", `share "1.05" has no unit; write "1.05 %"`},
		{"share", "5 psi", `share "5 psi" has a unit of pressure (psi); write "5 %"`},
	} {
		t.Run(c.kind+" "+c.text, func(t *testing.T) {
			_, err := si[c.kind](c.text)
			if err == nil {
				t.Fatalf("%q was taken", c.text)
			}
			if diff := cmp.Diff(c.want, err.Error()); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestAVeryLongTextIsRefusedAndNotRepeatedWhole(t *testing.T) {
	for kind, parse := range si {
		_, err := parse(strings.Repeat("9", 10_000) + " psi")
		if err == nil || len(err.Error()) > 300 {
			t.Errorf("%s: %v", kind, err)
		}
	}
}

func TestMoneyIsReadWithItsCurrency(t *testing.T) {
	for _, c := range []struct {
		text string
		want quantity.Money
	}{
		{"$120", quantity.Money{Amount: 120, Currency: "USD"}},
		{"120 $", quantity.Money{Amount: 120, Currency: "USD"}},
		{"2400 USD", quantity.Money{Amount: 2400, Currency: "USD"}},
		{"$2,400", quantity.Money{Amount: 2400, Currency: "USD"}},
		{"2.400 €", quantity.Money{Amount: 2400, Currency: "EUR"}},
		{"2 400 euros", quantity.Money{Amount: 2400, Currency: "EUR"}},
		{"€95,50", quantity.Money{Amount: 95.5, Currency: "EUR"}},
		{"$1,234.56", quantity.Money{Amount: 1234.56, Currency: "USD"}},
		{"-$5", quantity.Money{Amount: -5, Currency: "USD"}},
		{"CAD 120", quantity.Money{Amount: 120, Currency: "CAD"}},
		{"C$120", quantity.Money{Amount: 120, Currency: "CAD"}},
		{"£80", quantity.Money{Amount: 80, Currency: "GBP"}},
	} {
		got, err := quantity.ParseMoney(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%q: %s", c.text, diff)
		}
	}
	for text, want := range map[string]string{
		"120":     `money "120" has no currency; write "$120" or "120 EUR"`,
		"12 USX":  `money "12 USX" has an unknown currency "USX"; write "12 USD"`,
		"$12 EUR": `money "$12 EUR" has words on both sides of the amount ("$" and "EUR"); write "$120" or "120 EUR"`,
		"lots":    `money "lots" is not an amount; write "$120" or "120 EUR"`,
		"":        `money "" is empty; write "$120" or "120 EUR"`,
	} {
		if _, err := quantity.ParseMoney(text); err == nil || err.Error() != want {
			t.Errorf("%q: got %v, want %s", text, err, want)
		}
	}
}

func TestARateIsMoneyPerHour(t *testing.T) {
	for text, want := range map[string]quantity.Rate{
		"$120/h":           {PerHour: 120, Currency: "USD"},
		"€95/h":            {PerHour: 95, Currency: "EUR"},
		"95 €/hr":          {PerHour: 95, Currency: "EUR"},
		"120 USD per hour": {PerHour: 120, Currency: "USD"},
		"$2/min":           {PerHour: 120, Currency: "USD"},
	} {
		got, err := quantity.ParseRate(text)
		if err != nil || got != want {
			t.Errorf("%q: %+v, %v; want %+v", text, got, err, want)
		}
	}
	for text, want := range map[string]string{
		"$120":       `rate "$120" has no time; write "$120/h" or "120 EUR/h"`,
		"$120/psi":   `rate "$120/psi" is per "psi", which is no time; write "$120/h" or "120 EUR/h"`,
		"-$120/h":    `rate "-$120/h" cannot be: a rate is not negative, and below a million million; write "$120/h" or "120 EUR/h"`,
		"120/h":      `rate "120/h" has no currency; write "$120/h" or "120 EUR/h"`,
		"95 eurro/h": `rate "95 eurro/h" has an unknown currency "eurro"; write "95 EUR/h"`,
	} {
		if _, err := quantity.ParseRate(text); err == nil || err.Error() != want {
			t.Errorf("%q: got %v, want %s", text, err, want)
		}
	}
	if got := (quantity.Rate{PerHour: 120, Currency: "USD"}).Cost(quantity.Minutes(45)); got.Amount != 90 {
		t.Errorf("45 minutes at $120/h cost %v, want $90", got)
	}
}

func TestTheNearestRightWordIsFound(t *testing.T) {
	causes := []string{"thermostat-shut", "thermostat-open", "fan-dead", "cap-weak"}
	for word, want := range map[string]string{
		"termostat-shut":  "thermostat-shut",
		"Fan-Dead":        "fan-dead",
		"fan-daed":        "fan-dead", // a swap counts once
		"capweak":         "cap-weak",
		"cylinder-honing": "",
		"":                "",
	} {
		if got := quantity.Nearest(word, causes); got != want {
			t.Errorf("nearest to %q is %q, want %q", word, got, want)
		}
	}
	if got := quantity.Nearest("fan", nil); got != "" {
		t.Errorf("out of no words came %q", got)
	}
}
