package trace_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
)

// rename gives a cell another header.
func rename(c cell, name string) cell { return cell{name, c.at} }

// oddLayouts are logs of the same drive in forms that loggers, spreadsheets and
// people make of them.
func oddLayouts(d truth) []odd {
	clock := d.clockCells()
	plain := []cell{num("Coolant Temp", d.coolant, f0, 1, 0), num("Vehicle Speed", d.speed, f0, 1, 0), num("Engine RPM", d.rpm, f0, 1, 0)}
	with := func(first cell, rest ...cell) []byte {
		return d.write(",", 1, append(append([]cell{first}, plain...), rest...)...)
	}
	// The usual names of one kind of logger: empty brackets, a slip of spelling.
	bracketed := func(run, since bool) []cell {
		var c []cell
		if run {
			c = append(c, rename(clock["run"], "ENGINE_RUN_TIEM ()"))
		}
		c = append(c, num("ENGINE_RPM ()", d.rpm, f0, 1, 0), num("VEHICLE_SPEED ()", d.speed, f0, 1, 0), num("THROTTLE ()", d.throttle, f1, 1, 0),
			num("ENGINE_LOAD ()", d.load, f1, 1, 0), num("COOLANT_TEMPERATURE ()", d.coolant, f0, 1, 0), num("INTAKE_MANIFOLD_PRESSURE ()", d.mapKPa, f0, 1, 0),
			fixed("ABSOLUTE_BAROMETRIC_PRESSURE ()", func(int) string { return "95" }), num("INTAKE_AIR_TEMP ()", d.iat, f0, 1, 0))
		if since {
			c = append(c, fixed("TIME_RUN_WITH_MIL_ON ()", func(int) string { return "0" }), rename(clock["since"], "TIME_SINCE_TROUBLE_CODES_CLEARED ()"),
				fixed("WARM_UPS_SINCE_CODES_CLEARED ()", func(int) string { return "14" }))
		}
		return c
	}
	var all []odd
	add := func(name string, text []byte) { all = append(all, odd{name: name, text: text}) }

	// Several clocks and counters.
	add("run time in s first, minutes since reset last, empty brackets, one signal fresh per row", d.refreshed(",", bracketed(true, true)...))
	add("the same, all fresh", d.write(",", 1, bracketed(true, true)...))
	add("the same, the run time last", d.write(",", 1, append(bracketed(false, true), rename(clock["run"], "ENGINE_RUN_TIEM ()"))...))
	add("the same in semicolons, one signal fresh per row", d.refreshed(";", bracketed(true, true)...))
	add("clock beside run time", with(clock["clock"], clock["run"]))
	add("run time beside seconds that began earlier", with(clock["s-offset"], clock["run"]))
	add("minutes since reset before the clock", d.write(",", 1, append([]cell{clock["since"], clock["clock"]}, plain...)...))
	add("minutes since reset before plain seconds", d.write(",", 1, append([]cell{clock["since"], clock["s"]}, plain...)...))
	add("time with MIL in minutes and elapsed ms", d.write(",", 1, append([]cell{rename(clock["since"], "Time run with MIL on"), clock["ms"]}, plain...)...))
	add("row counter, then ms", d.write(",", 1, append([]cell{fixed("Index", func(i int) string { return fmt.Sprint(i) }), clock["ms"]}, plain...)...))
	add("two clocks, ms and minutes", with(clock["ms"], rename(clock["min"], "Elapsed minutes")))
	add("two clocks, hours and seconds", d.write(",", 1, append([]cell{rename(clock["h"], "Elapsed hours"), rename(clock["s"], "Elapsed")}, plain...)...))
	add("epoch and clock", with(clock["epoch"], clock["clock"]))
	add("hour, minute, second apart", d.write(",", 1, append([]cell{clock["hour"], clock["minute"], clock["second"]}, plain...)...))
	add("minute and second apart", d.write(",", 1, append([]cell{clock["minute"], clock["second"]}, plain...)...))
	add("distance that counts up beside a clock", with(clock["clock"], num("Odometer km", d.distance, f1, 1, 0)))

	// Units nowhere or wrong.
	add("seconds, nothing said", with(clock["s"]))
	add("milliseconds, nothing said", with(clock["ms"]))
	add("minutes, nothing said", with(clock["min"]))
	add("hours, nothing said", with(clock["h"]))
	add("microseconds, nothing said", with(clock["us"]))
	add("milliseconds headed s", with(rename(clock["ms"], "Time (s)")))
	add("seconds headed ms", with(rename(clock["s"], "Time (ms)")))
	add("seconds headed min", with(rename(clock["s"], "Time (min)")))
	add("minutes headed s", with(rename(clock["min"], "Time (s)")))
	add("minutes headed min", with(rename(clock["min"], "Time (min)")))
	add("hours headed h", with(rename(clock["h"], "Time (h)")))
	add("coolant in °F headed °C", d.write(",", 1, clock["s"], num("Coolant (°C)", d.coolant, f0, 1.8, 32), num("Speed (km/h)", d.speed, f0, 1, 0), plain[2]))
	add("coolant in °F, nothing said", d.write(",", 1, clock["s"], num("Coolant", d.coolant, f0, 1.8, 32), num("Speed", d.speed, f1, 1/1.609344, 0), plain[2]))
	add("coolant in K, nothing said", d.write(",", 1, clock["s"], num("Coolant", d.coolant, f1, 1, 273.15), plain[1], plain[2]))
	add("manifold pressure never above 38 kPa, nothing said", with(clock["s"], fixed("MAP", func(i int) string { return f0(math.Min(d.mapKPa[i], 36)) })))
	add("manifold pressure in inHg, nothing said, barometer beside it", with(clock["s"], num("MAP", d.mapKPa, f1, 1/3.386, 0), fixed("Barometric pressure", func(int) string { return "29.6" })))
	add("manifold pressure in kPa headed inHg", with(clock["s"], num("MAP (inHg)", d.mapKPa, f0, 1, 0)))
	add("throttle from 0 to 1", with(clock["s"], num("Throttle", d.throttle, func(x float64) string { return fmt.Sprintf("%.3f", x) }, 0.01, 0)))
	add("a closed throttle that reads below 1 %", with(clock["s"], fixed("Relative Throttle Position", func(i int) string { return f2(float64(i/60%3) * 0.392) })))
	add("speed in mph headed km/h beside the distance", d.write(",", 1, clock["s"], plain[0], num("Speed (km/h)", d.speed, f0, 1/1.609344, 0), plain[2], num("Distance (km)", d.distance, f2, 1, -12345)))
	add("engine speed in rev/s", d.write(",", 1, clock["s"], plain[0], plain[1], num("RPM", d.rpm, f1, 1.0/60, 0)))
	add("air flow in kg/h", with(clock["s"], num("MAF (kg/h)", d.maf, f1, 3.6, 0)))
	all = append(all, oddNames(d, clock, plain)...)
	all = append(all, oddForms(d, clock, plain)...)
	return all
}

// oddNames are layouts whose names are the difficulty.
func oddNames(d truth, clock map[string]cell, plain []cell) (all []odd) {
	add := func(name string, cols ...cell) { all = append(all, odd{name: name, text: d.write(",", 1, cols...)}) }
	add("names with unit suffixes", rename(clock["s"], "time_s"), num("coolant_c", d.coolant, f0, 1, 0), num("speed_kph", d.speed, f0, 1, 0), num("rpm", d.rpm, f0, 1, 0),
		num("maf_g_s", d.maf, f2, 1, 0), num("map_kpa", d.mapKPa, f0, 1, 0), num("iat_f", d.iat, f0, 1.8, 32), num("throttle_pct", d.throttle, f1, 1, 0), num("fan_cmd", d.fan, f0, 1, 0))
	add("more unit suffixes", rename(clock["ms"], "t_ms"), num("ect_degc", d.coolant, f0, 1, 0), num("vss_mph", d.speed, f1, 1/1.609344, 0), num("engine_rpm", d.rpm, f0, 1, 0), num("maf_kg_h", d.maf, f1, 3.6, 0))
	add("unit suffixes in °F", rename(clock["s"], "elapsed_s"), num("coolant_f", d.coolant, f0, 1.8, 32), num("speed_mph", d.speed, f1, 1/1.609344, 0), num("rpm", d.rpm, f0, 1, 0))
	add("suffixes without underscores", rename(clock["s"], "TimeSec"), num("CoolantDegC", d.coolant, f0, 1, 0), num("SpeedKph", d.speed, f0, 1, 0), num("EngineRpm", d.rpm, f0, 1, 0))
	add("the standard's own names", rename(clock["clock"], "Time"), num("Engine Coolant Temperature", d.coolant, f0, 1, 0), num("Vehicle Speed Sensor", d.speed, f0, 1, 0), num("Engine RPM", d.rpm, f0, 1, 0),
		num("Air Flow Rate From Mass Air Flow Sensor", d.maf, f2, 1, 0), num("Intake Manifold Absolute Pressure", d.mapKPa, f0, 1, 0), num("Calculated LOAD Value", d.load, f1, 1, 0), rename(clock["run"], "Time Since Engine Start"), rename(clock["since"], "Time since diagnostic trouble codes cleared"))
	add("the standard's short names", rename(clock["s"], "TIME"), num("ECT", d.coolant, f0, 1, 0), num("VSS", d.speed, f0, 1, 0), num("RPM", d.rpm, f0, 1, 0), num("MAF", d.maf, f2, 1, 0), num("MAP", d.mapKPa, f0, 1, 0), num("IAT", d.iat, f0, 1, 0), num("TP", d.throttle, f1, 1, 0), num("LOAD_PCT", d.load, f1, 1, 0), rename(clock["run"], "RUNTM"), rename(clock["since"], "CLR_TIME"))
	add("names of a programming library", rename(clock["s"], "time"), num("COOLANT_TEMP", d.coolant, f0, 1, 0), num("SPEED", d.speed, f0, 1, 0), num("RPM", d.rpm, f0, 1, 0), num("MAF", d.maf, f2, 1, 0), num("INTAKE_PRESSURE", d.mapKPa, f0, 1, 0), num("THROTTLE_POS", d.throttle, f1, 1, 0), num("ENGINE_LOAD", d.load, f1, 1, 0), rename(clock["run"], "RUN_TIME"), rename(clock["since"], "TIME_SINCE_DTC_CLEARED"))
	add("misspelt: Collant, Vehicel, Engien", rename(clock["s"], "Tiem"), num("Collant Temperature", d.coolant, f0, 1, 0), num("Vehicel Speed", d.speed, f0, 1, 0), num("Engien RPM", d.rpm, f0, 1, 0))
	add("misspelt: Coolent, Temprature", rename(clock["clock"], "Tme"), num("Coolent Temprature [°C]", d.coolant, f0, 1, 0), num("Spead (km/h)", d.speed, f0, 1, 0), num("Engine Rpm", d.rpm, f0, 1, 0))
	add("coolant target and oil beside coolant", clock["s"], fixed("Target coolant temp (°C)", func(int) string { return "100" }), num("Oil temp (°C)", d.oil, f0, 1, 0), num("Coolant temp (°C)", d.coolant, f0, 1, 0), plain[1], plain[2])
	add("radiator outlet beside coolant", clock["s"], num("Coolant temp radiator outlet (°C)", d.oil, f0, 0.5, 5), num("Coolant temp (°C)", d.coolant, f0, 1, 0), plain[1], plain[2])
	add("two coolant sensors numbered", clock["s"], num("Coolant temp 1", d.coolant, f0, 1, 0), num("Coolant temp 2", d.oil, f0, 0.5, 5), plain[1], plain[2])
	add("transmission temperature first", clock["s"], num("Transmission fluid temp (°C)", d.oil, f0, 1, 0), plain[0], plain[1], plain[2])
	add("names in brackets: [ECT]", clock["s"], num("[ECT]", d.coolant, f0, 1, 0), num("[VSS]", d.speed, f0, 1, 0), num("[RPM]", d.rpm, f0, 1, 0))
	add("PID numbers before the names", rename(clock["s"], "Time"), num("0105 - Engine coolant temperature", d.coolant, f0, 1, 0), num("010D - Vehicle speed", d.speed, f0, 1, 0), num("010C - Engine RPM", d.rpm, f0, 1, 0))
	add("PID numbers behind the names", rename(clock["s"], "Time"), num("Engine coolant temperature (0x05)", d.coolant, f0, 1, 0), num("Vehicle speed (0x0D)", d.speed, f0, 1, 0), num("Engine RPM (0x0C)", d.rpm, f0, 1, 0))
	add("a prefix before each name", rename(clock["s"], "obd.time"), num("obd.coolant_temp.value", d.coolant, f0, 1, 0), num("obd.speed.value", d.speed, f0, 1, 0), num("obd.rpm.value", d.rpm, f0, 1, 0))
	return all
}

// oddForms are layouts whose form is the difficulty.
func oddForms(d truth, clock map[string]cell, plain []cell) (all []odd) {
	add := func(name string, text []byte) { all = append(all, odd{name: name, text: text}) }
	first := func(c cell) []cell { return append([]cell{c}, plain...) }
	add("dot clock", d.write(",", 1, first(clock["dots"])...))
	add("dot clock with a comma before the tenths, semicolons", d.write(";", 1, first(clock["dots-comma"])...))
	add("date with a dot clock", d.write(";", 1, first(clock["date-dots"])...))
	add("date apart, dot clock", d.write(";", 1, append([]cell{fixed("Date", func(int) string { return "06.05.31" }), clock["dots"]}, plain...)...))
	add("ISO", d.write(",", 1, first(clock["iso"])...))
	add("a row every 5 s", d.write(",", 10, first(clock["s"])...))
	add("a row every 10 s, clock to the minute only", d.write(",", 20, first(fixed("Time", func(i int) string {
		m := 7*60 + 52 + int(d.at[i])/60
		return fmt.Sprintf("%02d:%02d", m/60, m%60)
	}))...))
	add("a row every 15 s in minutes", d.write(",", 30, first(clock["min"])...))
	add("zip", zipped("drive.csv", d.write(",", 1, first(clock["s"])...)))
	add("zip in a folder, tabs", zipped("logs/drive.txt", d.write("\t", 1, first(clock["clock"])...)))
	add("no header, seconds", d.write(",", 1, append([]cell{rename(clock["s"], "")}, rename(plain[0], ""), rename(plain[1], ""), rename(plain[2], ""))...))
	add("one signal fresh per row, clock at each row", fresh(d, clock["clock"], plain))
	add("one signal fresh per row, the others empty", blankFresh(d, clock["s"], plain))
	add("one reading per row in ms", long(d, clock["ms"], plain))
	add("one reading per row with a dot clock", long(d, clock["dots"], plain))
	add("one reading per row, one time for a round", longRound(d, clock["s"], plain))
	add("header twice, its units in the second row, a note above", []byte("Log of a made-up car\n\n"+strings.Replace(string(d.write(",", 1, first(clock["s"])...)), "\n", "\nsec,degC,km/h,rpm\n", 1)))
	add("trailing commas", bytes.ReplaceAll(d.write(",", 1, first(clock["s"])...), []byte("\n"), []byte(",,\n")))
	add("every cell quoted", []byte(`"`+strings.ReplaceAll(strings.ReplaceAll(strings.TrimSpace(string(d.write(",", 1, first(clock["s"])...))), ",", `","`), "\n", "\"\n\"")+"\"\n"))
	add("units behind each value", d.write(",", 1, clock["s"], fixed("Coolant", func(i int) string { return f0(d.coolant[i]) + " °C" }), fixed("Speed", func(i int) string { return f0(d.speed[i]) + " km/h" }), fixed("RPM", func(i int) string { return f0(d.rpm[i]) + " rpm" })))
	return all
}

// fresh has the clock at each row and one signal fresh.
func fresh(d truth, clock cell, plain []cell) []byte {
	row := make([]int, len(plain))
	cols := []cell{clock}
	for k, c := range plain {
		cols = append(cols, cell{c.name, func(i int) string {
			if i%len(plain) == k {
				row[k] = i
			}
			return c.at(row[k])
		}})
	}
	return d.write(",", 1, cols...)
}

func blankFresh(d truth, clock cell, plain []cell) []byte {
	cols := []cell{clock}
	for k, c := range plain {
		cols = append(cols, cell{c.name, func(i int) string {
			if i%len(plain) != k {
				return ""
			}
			return c.at(i)
		}})
	}
	return d.write(",", 1, cols...)
}

// long has one reading per row.
func long(d truth, clock cell, plain []cell) []byte {
	return d.write(",", 1, clock, fixed("Name", func(i int) string { return plain[i%len(plain)].name }), fixed("Value", func(i int) string { return plain[i%len(plain)].at(i) }))
}

// longRound gives all readings of a round the round's time.
func longRound(d truth, clock cell, plain []cell) []byte {
	n := len(plain)
	return d.write(",", 1, cell{clock.name, func(i int) string { return clock.at(i / n * n) }}, fixed("Name", func(i int) string { return plain[i%n].name }), fixed("Value", func(i int) string { return plain[i%n].at(i) }))
}
