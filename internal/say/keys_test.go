package say_test

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"weephole/check"
	"weephole/internal/say"
	"weephole/sheet"
)

// TestAnyKeyOfTheSheetsMayStandInAShopsOwn: causes, checks and phrases are read from one
// overlay by three packages, and none may refuse what another reads.
func TestAnyKeyOfTheSheetsMayStandInAShopsOwn(t *testing.T) {
	key := regexp.MustCompile(`(?m)^([a-z-]+):`)
	for _, pattern := range []string{"../../cause/*.yaml", "../../check/*.yaml", "*.yaml"} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatal(pattern, err)
		}
		for _, name := range files {
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range key.FindAllSubmatch(text, -1) {
				overlay := append(bytes.Clone(m[1]), ": []\n"...)
				c, err := check.Default()
				if err == nil {
					c, err = c.Overlay(bytes.NewReader(overlay), "shop.yaml")
				}
				if err == nil {
					_, err = say.New(c, sheet.Source{Name: "shop.yaml", Data: overlay})
				}
				if err != nil && strings.Contains(err.Error(), "unknown key") {
					t.Errorf("%s: %s: %v", name, m[1], err)
				}
			}
		}
	}
}
