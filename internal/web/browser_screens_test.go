package web_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// kept are the screens of which docs/screens keeps a picture.
var kept = []size{{phone.name, 390, 844, true}, {"tablet", 820, 1180, false}, {"desktop", 1440, 900, false}, {"wide", 1920, 1080, false}}

// TestKeepScreens takes the pictures of docs/screens: one job with three findings, on
// four screens, on paper and in the garage's dark. It writes them to the folder that
// WEEPHOLE_SCREENS names.
func TestKeepScreens(t *testing.T) {
	dir := os.Getenv("WEEPHOLE_SCREENS")
	if dir == "" {
		t.Skip("WEEPHOLE_SCREENS names no folder for the pictures")
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	l := lay(t)
	id := l.job(hotCar)
	for _, f := range twelve[:3] {
		l.found(id, f, "Weephole-Entered", "2026-06-01T09:30:00Z") // the same picture every day
	}
	l.must("GET", "/api/jobs/"+id+"/next", nil, nil)
	quality := int64(60)
	for _, sz := range kept {
		s := tab(t, sz)
		for _, dark := range []bool{false, true} {
			s.dark(dark)
			s.do(chromedp.Navigate(l.server.URL + "/jobs/" + id))
			s.until("the verdict", `document.querySelector(".strip.settled") && document.querySelector(".step")`)
			got, err := chromedp.Call(s.ctx, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatWebp, Quality: &quality})
			if err != nil {
				t.Fatal(err)
			}
			name := fmt.Sprintf("job-%d-%s.webp", sz.width, map[bool]string{false: "paper", true: "garage"}[dark])
			if err := os.WriteFile(filepath.Join(dir, name), got.Data, 0o644); err != nil {
				t.Fatal(err)
			}
			t.Logf("%s: %d bytes", name, len(got.Data))
		}
	}
}
