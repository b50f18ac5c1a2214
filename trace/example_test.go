package trace_test

import (
	"context"
	"fmt"
	"strings"

	"weephole/trace"
)

func ExampleRead() {
	var log strings.Builder
	log.WriteString("elapsed_ms,coolant_f,speed_mph\n")
	for i := range 600 {
		fmt.Fprintf(&log, "%d,%d,%d\n", i*1000, 68+i/5, i%40)
	}
	t, err := trace.Read(context.Background(), strings.NewReader(log.String()), "drive.csv", trace.ReadOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	c := t.Signals[trace.Coolant]
	fmt.Printf("%.0f s, from %.0f to %.0f °C, %d questions\n", t.Time[len(t.Time)-1], c[0], c[len(c)-1], len(t.Choices))
	for _, col := range t.Columns {
		fmt.Printf("%s is %s in %s\n", col.Name, col.Signal, col.Unit)
	}
	// Output:
	// 599 s, from 20 to 86 °C, 0 questions
	// coolant_f is coolant in °F
	// speed_mph is road-speed in mph
}
