package web_test

import (
	"encoding/xml"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"weephole/internal/web"
)

// The three finder patterns of ISO/IEC 18004 (from memory): a ring of seven
// modules about a block of three, in every corner but the lower right, inside a
// border of four white modules.
func TestTheSettingsShowAnAddressAsACodeForACamera(t *testing.T) {
	const url = "http://192.168.1.20:8470/"
	l := lay(t, func(c *web.Config) { c.Addresses = []string{url} })
	page := string(l.read("/settings"))
	svg := regexp.MustCompile(`(?s)<svg class="qr".*?</svg>`).FindString(page)
	if err := xml.Unmarshal([]byte(svg), new(struct{})); err != nil || !strings.Contains(svg, url) {
		t.Fatalf("%v in %s", err, svg)
	}
	var side int
	if _, err := fmt.Sscanf(svg[strings.Index(svg, `viewBox="0 0 `):], `viewBox="0 0 %d`, &side); err != nil {
		t.Fatal(err)
	}
	black := map[[2]int]bool{}
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h1`).FindAllStringSubmatch(svg, -1) {
		var x, y int
		fmt.Sscan(m[1], &x)
		fmt.Sscan(m[2], &y)
		black[[2]int{x, y}] = true
		if x < 4 || y < 4 || x >= side-4 || y >= side-4 {
			t.Errorf("module %d, %d is in the border", x, y)
		}
	}
	for _, corner := range [][2]int{{4, 4}, {side - 11, 4}, {4, side - 11}} {
		for dy := range 7 {
			for dx := range 7 {
				ring := dx == 0 || dx == 6 || dy == 0 || dy == 6
				block := dx >= 2 && dx <= 4 && dy >= 2 && dy <= 4
				if got := black[[2]int{corner[0] + dx, corner[1] + dy}]; got != (ring || block) {
					t.Errorf("finder pattern at %v: module %d, %d is %v", corner, dx, dy, got)
				}
			}
		}
	}
}

func TestABenchThatOnlyItsOwnMachineReachesHasNoAddressForOthers(t *testing.T) {
	for host, want := range map[string]int{"127.0.0.1": 0, "localhost": 0, "::1": 0, "192.168.1.20": 1, "bench.shop": 1} {
		if got := web.Addresses(host, "8470"); len(got) != want {
			t.Errorf("%s: %v", host, got)
		}
	}
}
