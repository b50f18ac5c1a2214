package web_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
)

// TestFirstPaintOfAFullJob is the measurement behind docs/bench.md: how soon a
// job with 40 findings is seen. Each load is followed by one of a page with two
// lines of text: what that takes is the browser's and the machine's own. It
// asserts nothing about time; it reports.
func TestFirstPaintOfAFullJob(t *testing.T) {
	loads := 2
	if os.Getenv("WEEPHOLE_LOAD") != "" {
		loads = 15
	}
	l := lay(t)
	id := l.job(hotCar)
	for i := range 40 {
		body := []string{`{"check":"level-cold","found":"low"}`, `{"check":"belt-look","found":"firm"}`, `{"check":"fan-run","found":"runs"}`, `{"check":"hose-temps","read":{"upper-hose":"92 °C","lower-hose":"71 °C"}}`}[i%4]
		l.found(id, body)
	}
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	var report strings.Builder
	for _, sz := range []size{phone, desktop} {
		s := tab(t, sz)
		if _, err := chromedp.Call(s.ctx, performance.Enable, performance.EnableParams{}); err != nil {
			t.Fatal(err)
		}
		taken := map[string][]float64{}
		for range loads {
			for _, page := range []struct{ name, path string }{{"two lines", "/nothing"}, {"40 findings", "/jobs/" + id}} {
				s.do(chromedp.Navigate(l.server.URL + page.path))
				s.until("a first paint", `performance.getEntriesByName("first-contentful-paint").length`)
				for what, expression := range map[string]string{
					"HTML there":  `performance.getEntriesByType("navigation")[0].responseEnd`,
					"first paint": `performance.getEntriesByName("first-contentful-paint")[0].startTime`,
				} {
					taken[page.name+": "+what] = append(taken[page.name+": "+what], js[float64](s, expression))
				}
				m, err := chromedp.Call(s.ctx, performance.GetMetrics, cdp.Empty{})
				if err != nil {
					t.Fatal(err)
				}
				sum := 0.0
				for _, x := range m.Metrics {
					if x.Name == "LayoutDuration" || x.Name == "RecalcStyleDuration" || x.Name == "ScriptDuration" {
						sum += 1000 * x.Value
					}
				}
				taken[page.name+": style, layout and script"] = append(taken[page.name+": style, layout and script"], sum)
			}
		}
		for _, key := range []string{"two lines: HTML there", "two lines: first paint", "40 findings: HTML there", "40 findings: style, layout and script", "40 findings: first paint"} {
			v := taken[key][1:] // the first load fills the browser's cache
			slices.Sort(v)
			fmt.Fprintf(&report, "%-8s %-38s least %4.0f ms, median %4.0f ms, most %4.0f ms\n", sz.name, key, v[0], v[len(v)/2], v[len(v)-1])
		}
		fmt.Fprintf(&report, "%-8s 40 findings: HTML of %.0f kB\n", sz.name, js[float64](s, `performance.getEntriesByType("navigation")[0].decodedBodySize`)/1000)
	}
	t.Log("\n" + report.String())
	artefact(t, "paint.txt", []byte(report.String()))
}
