package answer_test

import (
	"bytes"
	"flag"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"weephole/internal/answer"
	"weephole/internal/chart"
	"weephole/internal/work"
	"weephole/margin"
	"weephole/quantity"
)

var updateMargin = flag.Bool("update-margin", false, "write the words of margins and trips into testdata/margin.txt")

func states(low, middle, high, passes float64) margin.States {
	return margin.States{
		Highest: margin.MiddleRange{Low: low, Middle: middle, High: high},
		InHand:  margin.MiddleRange{Low: low - 35, Middle: middle - 35, High: high - 35}, Passes: passes,
	}
}

// Every way of saying a margin and a trip, in both kinds of units.
func TestMarginsAndTripsAreSaidAsWritten(t *testing.T) {
	const path = "testdata/margin.txt"
	k, err := margin.DefaultCriteria()
	if err != nil {
		t.Fatal(err)
	}
	in := func(i int, found, after, sound margin.States) margin.InDuty {
		return margin.InDuty{Duty: &k.Duties[i], Found: found, After: &after, Sound: sound}
	}
	m := &work.CarMargin{
		Report: &margin.Report{DayC: 35, Engines: 250, Distinct: 230, Unnamed: 0.12, Duties: []margin.InDuty{
			in(0, states(70, 85, 90, 0), states(80, 90, 90, 0), states(85, 90, 90, 0)),
			in(1, states(-40, 75, 90, 0.12), states(70, 80, 90, 0), states(75, 85, 90, 0)),
			in(2, states(45, 70, 88, 0.02), states(60, 78, 90, 0), states(65, 80, 90, 0)),
			in(3, states(8, 22, 31, 0.97), states(38, 46, 58, 0.01), states(48, 58, 70, 0)),
			in(4, states(-40, -40, 12, 1), states(20, 33, 45, 0.6), states(40, 50, 61, 0)),
		}, Losses: []margin.Loss{{Name: "radiator clogged inside", Share: 0.2, Takes: 17.4}, {Name: "weak water pump", Share: 0.01, Takes: 30}, {Name: "belt that slips or is off", Share: 0.1, Takes: 117}}},
		Bills:   []float64{520, 410, 118},
		Repairs: []string{"replace-thermostat"}, Names: []string{"replace the thermostat"}, Rough: true, Bans: []string{"there is oil in the coolant"},
	}
	trip, err := margin.ParseTrip("10 min town, 25 min motorway, 6 min climb", k)
	if err != nil {
		t.Fatal(err)
	}
	helps := []margin.Help{
		{ID: margin.HelpHeater, Manner: margin.Manner{Heater: true}, Chance: 0.11, Cooler: 6.3},
		{ID: margin.HelpAirCon, Manner: margin.Manner{AirConOff: true}, Chance: 0.16, Cooler: 1.2},
		{ID: margin.HelpSlower, Manner: margin.Manner{Pace: 0.75}, Chance: 0.3, Cooler: -2.2},
		{ID: margin.HelpNoStops, Manner: margin.Manner{NoStops: true}, Chance: 0.2, Cooler: 0.1},
		{ID: margin.HelpEvening, Manner: margin.Manner{CoolerBy: 8}, Chance: 0.08, Cooler: 8},
		{ID: margin.HelpAll, Manner: margin.Manner{Heater: true}, Chance: 0.004, Cooler: 19},
	}
	report := func(advice margin.Advice, chance float64, why ...string) *work.TripForecast {
		return &work.TripForecast{Cautions: []string{"Never open a hot system."}, TripReport: &margin.TripReport{
			Trip: trip, AirC: 30, Engines: 250, Distinct: 230, Unnamed: 0.3, Advice: advice, Why: why, Chance: chance, Error: 0.02,
			When: &margin.MiddleRange{Low: 36, Middle: 38, High: 41}, Part: 2, StopBy: 36.4, StopPart: 2, Dry: 0.7, Helps: helps,
		}}
	}
	banned := report(margin.Never, 0.5)
	banned.Bans = []string{"no coolant is to be seen"}
	safe := report(margin.Careful, 0)
	safe.When, safe.StopBy, safe.Error = nil, -1, 0.004
	var out bytes.Buffer
	p := &answer.Page{W: &out, Width: 80}
	for _, u := range []quantity.Units{quantity.Metric(), quantity.US()} {
		s := answer.Style{Units: u}
		p.Margin(answer.ForMargin(m, s))
		p.Drive(answer.ForDrive(report(margin.Carry, 0.2, margin.WhyChance, margin.WhyUnnamed, margin.WhyRough), s))
	}
	s := answer.Style{Units: quantity.Metric()}
	done, none := *m, *m
	done.Done, done.Bans, done.Rough = true, nil, false
	none.Repairs, none.Names, none.Bans, none.Rough = nil, nil, nil, false
	none.Report = &margin.Report{DayC: 35, Engines: 250, Distinct: 230, Duties: []margin.InDuty{{Duty: &k.Duties[3], Found: states(33, 41, 55, 0.05), Sound: states(40, 50, 58, 0)}}}
	p.Margin(answer.ForMargin(&done, s))
	p.Margin(answer.ForMargin(&none, s))
	for _, u := range []quantity.Units{quantity.Metric(), quantity.US()} {
		after := answer.AfterRepair(&done, answer.Style{Units: u})
		for _, text := range append(after.Gains, after.Little, after.Enough, after.Eats) {
			p.Para("", text)
		}
		out.WriteString(answer.MarginPicture(&done, u).Text(chart.Terminal{Width: 80}))
	}
	p.Drive(answer.ForDrive(safe, s))
	p.Drive(answer.ForDrive(banned, s))
	p.Drive(answer.ForDrive(report(margin.Never, 0.5, margin.WhyDry), s))
	if *updateMargin {
		if err := os.WriteFile(path, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), out.String()); d != "" {
		t.Errorf("%s (-want +got), go test -update-margin writes it:\n%s", path, d)
	}
}
