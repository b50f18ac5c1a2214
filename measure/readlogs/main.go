// Command readlogs measures how fast logs are read, and in how much memory, in
// one run on one machine: package trace, encoding/csv alone (every field split,
// nothing parsed), and the data-frame reader of python3-pandas if it is installed.
//
//	go run ./measure/readlogs            # makes a log of 100 MB, three rounds each
//	go run ./measure/readlogs -mb 400    # the memory must not grow with it
//
// Each reading is a process of its own; memory is its peak resident set.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"syscall"
	"time"

	"weephole/trace"
)

func main() {
	mb := flag.Int("mb", 100, "size of the log in MB")
	rounds := flag.Int("rounds", 3, "readings of each kind; the fastest counts")
	how := flag.String("how", "", "read once with: trace, csv (for the program's own use)")
	python := flag.String("python", "/usr/bin/python3", "the Python that has pandas")
	flag.Parse()
	if err := run(*mb, *rounds, *how, *python, flag.Arg(0)); err != nil {
		fmt.Fprintln(os.Stderr, "readlogs:", err)
		os.Exit(1)
	}
}

func run(mb, rounds int, how, python, file string) error {
	switch how {
	case "trace":
		return readTrace(file)
	case "csv":
		return readCSV(file)
	}
	dir, err := os.MkdirTemp("", "readlogs")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	file = filepath.Join(dir, "log.csv")
	size, rows, err := write(file, mb)
	if err != nil {
		return err
	}
	self, err := os.Executable()
	if err != nil {
		return err
	}
	fmt.Printf("%d MB, %d rows of 11 columns; %s, %d CPUs\n", size>>20, rows, runtime.Version(), runtime.NumCPU())
	kinds := []struct {
		name string
		args []string
	}{
		{"package trace", []string{self, "-how", "trace", file}},
		{"encoding/csv alone", []string{self, "-how", "csv", file}},
		{"pandas read_csv", []string{python, "-c", "import pandas,sys; d=pandas.read_csv(sys.argv[1]); assert len(d)>1000", file}},
		{"pandas import alone", []string{python, "-c", "import pandas"}},
	}
	for _, k := range kinds {
		best, peak := math.Inf(1), int64(0)
		for range rounds {
			cmd := exec.Command(k.args[0], k.args[1:]...)
			cmd.Stderr = os.Stderr
			start := time.Now()
			if err := cmd.Run(); err != nil {
				best = math.Inf(1)
				break
			}
			best = math.Min(best, time.Since(start).Seconds())
			if u, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
				peak = max(peak, u.Maxrss/1024)
			}
		}
		if math.IsInf(best, 1) {
			fmt.Printf("%-20s could not be run\n", k.name)
			continue
		}
		fmt.Printf("%-20s %6.2f s  %6.0f MB/s  %5d MB peak\n", k.name, best, float64(size)/(1<<20)/best, peak)
	}
	return nil
}

// write makes a log of ten signals polled in turn, the others repeated, ten rows
// a second, as loggers on a serial bus do.
func write(path string, mb int) (size int64, rows int, err error) {
	f, err := os.Create(path)
	if err != nil {
		return 0, 0, err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	n, _ := fmt.Fprintln(w, "Time,Coolant [°C],Manifold pressure [kPa],Engine speed [rpm],Road speed [km/h],Intake air [°C],Air flow [g/s],Throttle [%],Ambient [°C],Pedal D [%],Pedal E [%]")
	size = int64(n)
	var cell [10]string
	for size < int64(mb)<<20 {
		t := float64(rows) * 0.1
		v := [10]float64{math.Min(90, 20+t/8), 60 + 30*math.Sin(t/7), 1500 + 700*math.Sin(t/5), 50 + 45*math.Sin(t/40), 25, 12 + 8*math.Sin(t/5), 20 + 9*math.Sin(t/3), 15, 18 + 9*math.Sin(t/3), 9 + 4*math.Sin(t/3)}
		k := rows % 10
		cell[k] = fmt.Sprintf("%.*f", []int{0, 1, 1, 0, 0, 2, 2, 0, 2, 2}[k], v[k])
		ms := int64(rows) * 100
		n, _ := fmt.Fprintf(w, "%02d:%02d:%02d.%03d", ms/3600000%24, ms/60000%60, ms/1000%60, ms%1000)
		size += int64(n)
		for _, c := range cell {
			n, _ := fmt.Fprintf(w, ",%s", c)
			size += int64(n)
		}
		_ = w.WriteByte('\n')
		size++
		rows++
	}
	if err := w.Flush(); err != nil {
		return 0, 0, err
	}
	return size, rows, f.Close()
}

func readTrace(file string) error {
	f, err := os.Open(file)
	if err != nil {
		return err
	}
	defer f.Close()
	t, err := trace.Read(context.Background(), f, file, trace.ReadOptions{})
	if err != nil {
		return err
	}
	if t.Dropped > 0 || len(t.Time) < 1000 {
		return fmt.Errorf("%d rows dropped, %d kept", t.Dropped, len(t.Time))
	}
	return nil
}

func readCSV(file string) error {
	f, err := os.Open(file)
	if err != nil {
		return err
	}
	defer f.Close()
	r := csv.NewReader(bufio.NewReaderSize(f, 1<<18))
	r.ReuseRecord = true
	n := 0
	for {
		if _, err := r.Read(); err == io.EOF {
			break
		} else if err != nil {
			return err
		}
		n++
	}
	if n < 1000 {
		return fmt.Errorf("%d rows", n)
	}
	return nil
}
