package quantity_test

import (
	"encoding/json"
	"testing"

	"weephole/quantity"

	"github.com/google/go-cmp/cmp"
)

func TestTheShopReadsItsOwnUnits(t *testing.T) {
	us, metric := quantity.US(), quantity.Metric()
	mixed, err := quantity.ParseUnits("metric, psi")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ got, want string }{
		{us.Temperature(85), "185 °F"},
		{metric.Temperature(85), "85 °C"},
		{metric.Temperature(-0.2), "0 °C"},
		{us.TemperatureUp(-37), "-34 °F"}, // -34.6 °F
		{metric.TemperatureUp(-37), "-37 °C"},
		{us.TemperatureDifference(10), "18 °F"},
		{metric.TemperatureDifference(10), "10 K"},
		{metric.TemperatureDifference(0.5), "0.5 K"},
		{us.Pressure(quantity.PSI(16)), "16 psi"},
		{metric.Pressure(quantity.PSI(16)), "1.1 bar"},
		{mixed.Pressure(quantity.Bar(1.1)), "16 psi"},
		{mixed.Temperature(85), "85 °C"},
		{metric.Pressure(quantity.Bar(0.05)), "0.05 bar"},
		{metric.Pressure(0), "0 bar"},
		{us.Volume(quantity.Quarts(7.5)), "7.5 qt"},
		{metric.Volume(quantity.Quarts(7.5)), "7.1 L"},
		{us.Length(quantity.Feet(1000)), "1000 ft"},
		{metric.Length(304.8), "305 m"},
		{us.Speed(quantity.MPH(65)), "65 mph"},
		{metric.Speed(quantity.KMH(100)), "100 km/h"},
		{metric.MassFlow(0.012), "12 g/s"},
		{us.MassFlow(0.012), "1.6 lb/min"},
		{metric.Duration(45), "45 s"},
		{metric.Duration(90), "1 min 30 s"},
		{metric.Duration(1230), "21 min"},
		{metric.Duration(3599.8), "1 h"},
		{metric.Duration(4800), "1 h 20 min"},
		{metric.Duration(0), "0 s"},
		{metric.Share(0.5), "50 %"},
		{metric.Share(0.004), "0.4 %"},
		{metric.Share(0.996), "99.6 %"},
		{metric.Share(1), "100 %"},
		{metric.Money(quantity.Money{Amount: 120, Currency: "USD"}), "$120"},
		{metric.Money(quantity.Money{Amount: -89.5, Currency: "EUR"}), "-€89.50"},
		{metric.Money(quantity.Money{Amount: 2400, Currency: "CHF"}), "2,400 CHF"},
		{us.Rate(quantity.Rate{PerHour: 120, Currency: "USD"}), "$120/h"},
		{quantity.Units{}.Temperature(85), "85 °C"},
		{quantity.Units{PressureIn: "psi"}.Pressure(quantity.Bar(1.1)), "16 psi"},
		{quantity.Units{PressureIn: "stone"}.Pressure(quantity.Bar(1.1)), "1.1 bar"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestUnitsAreReadAndWritten(t *testing.T) {
	for text, want := range map[string]string{
		"metric": "metric", "US": "us", "metric, psi": "metric, psi", "us,C": "us, °C",
		"metric,psi,qt,ft,mph": "us, °C, g/s",
	} {
		u, err := quantity.ParseUnits(text)
		if err != nil || u.String() != want {
			t.Errorf("%q: %q, %v; want %q", text, u, err, want)
		}
		back, err := quantity.ParseUnits(u.String())
		if err != nil || back != u {
			t.Errorf("%q does not come back: %v %v", u, back, err)
		}
	}
	for text, want := range map[string]string{
		"metrik":     `units "metrik" begins with no known system; write "metric"`,
		"furlongs":   `units "furlongs" begins with no known system; write "metric", "us", or a mixture such as "metric, psi"`,
		"us, kelvin": `units "us, kelvin" names no unit to print in ("kelvin"); write units out of °C °F bar kPa psi L qt gal m ft km/h mph g/s kg/h lb/min`,
	} {
		if _, err := quantity.ParseUnits(text); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
	if err := (quantity.Units{VolumeIn: "bucket"}).Check(); err == nil {
		t.Error("buckets passed the check")
	}
}

func TestWhatWasTypedStaysTheSameInAFile(t *testing.T) {
	type settings struct {
		Temperature quantity.Temperature
		Pressure    quantity.Pressure
		Volume      quantity.Volume
		Duration    quantity.Duration
		Length      quantity.Length
		Speed       quantity.Speed
		Flow        quantity.MassFlow
		Share       quantity.Share
		Price       quantity.Money
		Rate        quantity.Rate
		Units       quantity.Units
	}
	const text = `{"Temperature":"204 °F","Pressure":"16 psi","Volume":"7.5 qt","Duration":"80 min",` +
		`"Length":"1000 ft","Speed":"65 mph","Flow":"12 g/s","Share":"50 %","Price":"2400 USD",` +
		`"Rate":"120 USD/h","Units":"us, °C"}`
	var s settings
	if err := json.Unmarshal([]byte(text), &s); err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(text, string(again)); diff != "" {
		t.Error(diff)
	}
}

func TestAWrongTextLeavesTheValueAlone(t *testing.T) {
	p := quantity.PSI(16)
	if err := p.UnmarshalText([]byte("16 stone")); err == nil || p != quantity.PSI(16) {
		t.Errorf("err %v, value %v", err, p)
	}
}
