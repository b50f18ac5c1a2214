package trace_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"math"
	"strings"
	"time"
)

// truth is a made-up drive, known exactly.
type truth struct {
	name                                                                          string
	step                                                                          float64 // s between rows
	at, coolant, speed, rpm, maf, mapKPa, iat, throttle, load, distance, oil, fan []float64
}

// madeDrive is what a drive is made from.
type madeDrive struct {
	name        string
	lasts, step float64                 // s
	coolant     func(t float64) float64 // degC
	speed       func(t float64) float64 // m/s
}

// fromCold rises from 18 to 93 °C in ten minutes, falls to 90 and holds.
func fromCold(t float64) float64 {
	if t > 600 {
		return 90 + 3*math.Exp(-(t-600)/45)
	}
	return 18 + 75*t/600
}

// town is a cycle of 90 s: stand 20 s, speed up in 15 s to 14 m/s, drive, slow down in 10 s.
func town(t float64) float64 {
	switch p := math.Mod(t, 90); {
	case p < 20:
		return 0
	case p < 35:
		return 14 * (p - 20) / 15
	case p < 80:
		return 14
	default:
		return 14 * (90 - p) / 10
	}
}

// madeDrives are drives of all kinds. On a warm engine at idle nothing but
// names and the rows' own rhythm tells one clock from another.
func madeDrives() []truth {
	still := func(float64) float64 { return 0 }
	warm := func(t float64) float64 { return 91 + 2*math.Sin(t/70) }
	road := func(t float64) float64 { return 14 * (1 + 0.9*math.Sin(t/40)) }
	return []truth{
		madeTruth(madeDrive{"town from cold", 1200, 0.5, fromCold, town}),
		madeTruth(madeDrive{"idle from cold", 1500, 0.5, fromCold, still}),
		madeTruth(madeDrive{"warm idle, ten rows a second", 400, 0.1, warm, still}),
		madeTruth(madeDrive{"warm town, a row a second", 2400, 1, warm, town}),
		madeTruth(madeDrive{"country road, four rows a second", 900, 0.25, warm, road}),
	}
}

func madeTruth(m madeDrive) truth {
	d := truth{name: m.name, step: m.step}
	km := 12345.0
	for i := range int(m.lasts/m.step) + 1 {
		t := float64(i) * m.step
		v := m.speed(t)
		rpm, thr, load := 780.0+10*math.Sin(t/3), 14.5, 24.0
		if v > 1 {
			rpm, thr, load = 1100+80*v, 19+v/2, 35+v
		}
		mapKPa := 31.0 + math.Round(math.Sin(t/11))
		if v > 1 {
			mapKPa = 45 + v
		}
		km += v * m.step / 1000
		d.at = append(d.at, t)
		d.coolant = append(d.coolant, math.Round(m.coolant(t)))
		d.speed = append(d.speed, math.Round(v*3.6))
		d.rpm = append(d.rpm, math.Round(rpm))
		d.maf = append(d.maf, math.Round(rpm*load/100*0.012*100)/100)
		d.mapKPa = append(d.mapKPa, math.Round(mapKPa))
		d.iat = append(d.iat, math.Round(19+4*t/1200))
		d.throttle = append(d.throttle, math.Round(thr*255/100)*100/255)
		d.load = append(d.load, math.Round(load*255/100)*100/255)
		d.distance = append(d.distance, km)
		d.oil = append(d.oil, math.Round(18+70*t/m.lasts))
		fan := 0.0
		switch {
		case t > 0.8*m.lasts && t < 0.85*m.lasts:
			fan = 2
		case t > 0.7*m.lasts && t < 0.75*m.lasts:
			fan = 1
		}
		d.fan = append(d.fan, fan)
	}
	return d
}

// cell is one column of a layout: its header and its text at a row.
type cell struct {
	name string
	at   func(i int) string
}

// odd is one layout with what is known of it.
type odd struct {
	name string
	text []byte
}

func f0(x float64) string { return fmt.Sprintf("%.0f", x) }
func f1(x float64) string { return fmt.Sprintf("%.1f", x) }
func f2(x float64) string { return fmt.Sprintf("%.2f", x) }

func num(name string, x []float64, format func(float64) string, scale, shift float64) cell {
	return cell{name, func(i int) string { return format(x[i]*scale + shift) }}
}

func fixed(name string, f func(i int) string) cell { return cell{name, f} }

// write puts columns side by side; every keeps one row in so many.
func (d truth) write(sep string, every int, cols ...cell) []byte {
	var b bytes.Buffer
	var head []string
	for _, c := range cols {
		head = append(head, c.name)
	}
	if strings.Join(head, "") != "" {
		b.WriteString(strings.Join(head, sep) + "\n")
	}
	for i := 0; i < len(d.at); i += every {
		var row []string
		for _, c := range cols {
			row = append(row, c.at(i))
		}
		b.WriteString(strings.Join(row, sep) + "\n")
	}
	return b.Bytes()
}

// refreshed writes one row for each signal that comes in, the others repeated.
func (d truth) refreshed(sep string, cols ...cell) []byte {
	var b bytes.Buffer
	var head, row []string
	for _, c := range cols {
		head, row = append(head, c.name), append(row, c.at(0))
	}
	b.WriteString(strings.Join(head, sep) + "\n")
	for i := range d.at {
		k := i % len(cols)
		row[k] = cols[k].at(i)
		b.WriteString(strings.Join(row, sep) + "\n")
	}
	return b.Bytes()
}

// clockCells are the ways in which a log may tell the time.
func (d truth) clockCells() map[string]cell {
	start := time.Date(2031, 5, 6, 7, 52, 10, 0, time.UTC)
	at := func(i int) time.Time { return start.Add(time.Duration(d.at[i] * 1e9)) }
	stamp := func(layout string) func(i int) string {
		return func(i int) string { return at(i).Format(layout) }
	}
	return map[string]cell{
		"s": num("Time", d.at, f1, 1, 0), "s-offset": num("Time", d.at, f1, 1, 5312), "ms": num("Time", d.at, f0, 1000, 0),
		"min": num("Time", d.at, func(x float64) string { return fmt.Sprintf("%.4f", x) }, 1.0/60, 0),
		"h":   num("Time", d.at, func(x float64) string { return fmt.Sprintf("%.6f", x) }, 1.0/3600, 0),
		"us":  num("Time", d.at, f0, 1e6, 0), "run": num("Engine Run Time", d.at, func(x float64) string { return f0(math.Floor(x)) }, 1, 0),
		"since": num("Time Since Codes Cleared", d.at, func(x float64) string { return f0(math.Floor(x)) }, 1.0/60, 417),
		"clock": fixed("Time", stamp("15:04:05.0")), "dots": fixed("Time", stamp("15.04.05")),
		"dots-comma": fixed("Time", func(i int) string { return strings.Replace(at(i).Format("15.04.05.000"), ".000", ",0", 1) }),
		"date-dots":  fixed("Time", stamp("02.01.2006 15.04.05")),
		"iso":        fixed("timestamp", stamp("2006-01-02T15:04:05.000Z")), "epoch": fixed("ts", func(i int) string { return fmt.Sprint(at(i).UnixMilli()) }),
		"hour": fixed("Hour", stamp("15")), "minute": fixed("Minute", stamp("4")), "second": fixed("Second", stamp("5.0")),
	}
}

func zipped(name string, files ...[]byte) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i, f := range files {
		n := name
		if i > 0 {
			n = fmt.Sprintf("%d-%s", i, name)
		}
		w, _ := z.Create(n)
		_, _ = w.Write(f)
	}
	_ = z.Close()
	return b.Bytes()
}
