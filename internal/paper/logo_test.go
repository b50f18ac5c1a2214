package paper_test

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"weephole/internal/answer"
	"weephole/internal/paper"
)

// drop is an invented shop's logo: a disc with a soft edge on nothing.
func drop(wide, high int) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, wide, high))
	for y := range high {
		for x := range wide {
			dx, dy := float64(x)/float64(wide)-.5, float64(y)/float64(high)-.5
			if d := dx*dx + dy*dy; d < .25 {
				m.SetNRGBA(x, y, color.NRGBA{10, 79, 143, uint8(255 * min(1, 20*(.25-d)))})
			}
		}
	}
	return m
}

func pngOf(t *testing.T, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func jpegOf(t *testing.T, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// claiming is a PNG whose head claims other dimensions (W3C PNG, third edition, 11.2.1:
// width and height are the first eight bytes of IHDR; 5.5: its CRC follows).
func claiming(of []byte, wide, high uint32) []byte {
	b := bytes.Clone(of)
	binary.BigEndian.PutUint32(b[16:], wide)
	binary.BigEndian.PutUint32(b[20:], high)
	binary.BigEndian.PutUint32(b[29:], crc32.ChecksumIEEE(b[12:29]))
	return b
}

func TestALogoIsTakenOrRefusedInPlainWords(t *testing.T) {
	small := pngOf(t, drop(120, 60))
	deep := image.NewNRGBA64(image.Rect(0, 0, 40, 40)) // 16 bits a colour, which the PDF's writer cannot read
	for _, c := range []struct {
		name  string
		given []byte
		says  []string // of the error; none: it is taken
	}{
		{"a PNG", small, nil},
		{"a JPEG", jpegOf(t, drop(120, 60)), nil},
		{"a PNG of 16 bits a colour", pngOf(t, deep), nil},
		{"nothing", nil, []string{"empty", "PNG or JPEG"}},
		{"too many bytes", append(bytes.Clone(small), make([]byte, paper.MostLogoBytes)...), []string{"kB", "at most 200 kB"}},
		{"a head that claims 50,000 by 50,000 pixels", claiming(small, 50000, 50000), []string{"50000 by 50000 pixels", "2,000 by 2,000"}},
		{"a few pixels more than are taken", pngOf(t, image.NewGray(image.Rect(0, 0, 2001, 20))), []string{"2001 by 20"}},
		{"a spot", pngOf(t, drop(4, 4)), []string{"only 4 by 4"}},
		{"a PNG that ends in the middle", small[:len(small)/2], []string{"broken"}},
		{"an SVG", []byte(`<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`), []string{"an SVG", "PNG or JPEG"}},
		{"a page that is called a picture", []byte("<html><script>alert(1)</script>"), []string{"no picture"}},
		{"a GIF", []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00;"), []string{"a GIF", "PNG or JPEG"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := paper.ReadLogo(c.given)
			if len(c.says) == 0 {
				if err != nil {
					t.Fatal(err)
				}
				if again, err := paper.KeptLogo(l.Data); err != nil || again.Width != l.Width || again.Type != l.Type {
					t.Errorf("it does not come back: %+v %v", again, err)
				}
				return
			}
			if err == nil {
				t.Fatal("it was taken")
			}
			for _, s := range c.says {
				if !strings.Contains(err.Error(), s) {
					t.Errorf("%q does not say %q", err, s)
				}
			}
		})
	}
}

// What stands in a picture besides the picture may be a place, a name or a program.
func TestALogoKeepsNothingThatIsNoPicture(t *testing.T) {
	const secret = "<script>alert('umbrageous')</script>"
	plain := pngOf(t, drop(60, 60))
	chunk := binary.BigEndian.AppendUint32(nil, uint32(len(secret)+5))
	chunk = append(chunk, "tEXtnote\x00"+secret...)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	const afterHead = 8 + 25 // the signature and IHDR
	given := append(bytes.Clone(plain[:afterHead]), append(chunk, plain[afterHead:]...)...)
	given = append(given, secret...) // and behind its end
	l, err := paper.ReadLogo(given)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(l.Data, []byte("umbrageous")) {
		t.Error("what stood beside the picture is kept")
	}
}

func FuzzALogo(f *testing.F) {
	var p, j bytes.Buffer
	if err := png.Encode(&p, drop(20, 20)); err != nil {
		f.Fatal(err)
	}
	if err := jpeg.Encode(&j, drop(20, 20), nil); err != nil {
		f.Fatal(err)
	}
	f.Add(p.Bytes())
	f.Add(j.Bytes())
	f.Add(claiming(p.Bytes(), 1<<31-1, 1<<31-1))
	f.Add([]byte("<svg"))
	f.Fuzz(func(t *testing.T, given []byte) {
		l, err := paper.ReadLogo(given)
		if err != nil {
			return
		}
		if again, err := paper.KeptLogo(l.Data); err != nil || again.Width != l.Width || again.Height != l.Height {
			t.Errorf("%d by %d pixels come back as %+v: %v", l.Width, l.Height, again, err)
		}
		if err := (&paper.Letter{Title: "t", Logo: l}).PDF(io.Discard, time.Unix(0, 0)); err != nil {
			t.Errorf("a logo that was taken spoils the letter: %v", err)
		}
	})
}

// placed is where the PDF draws a picture: width and height in points, 72 to an inch of
// 25.4 mm (PDF 1.7, 8.9.5 and 8.3.2).
var placed = regexp.MustCompile(`q ([0-9.]+) 0 0 ([0-9.]+) ([0-9.]+) ([0-9.]+) cm /I`)

// unpacked is what a PDF's packed streams hold, one after another.
func unpacked(t *testing.T, pdf []byte) string {
	t.Helper()
	var out strings.Builder
	for _, part := range bytes.Split(pdf, []byte("stream\n")) {
		if z, err := zlib.NewReader(bytes.NewReader(part)); err == nil {
			_, _ = io.Copy(&out, z) // what is no stream ends with an error
		}
	}
	return out.String()
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestALogoStandsAtTheHeadOfEveryPaper(t *testing.T) {
	for _, x := range []struct {
		name   string
		given  []byte
		wideMM float64
		highMM float64
	}{
		// 400 by 800 pixels: 18 mm high, so 9 wide. 2,000 by 100: 60 mm wide, so 3 high.
		// 48 by 48: half an inch, for it is never enlarged.
		{"a high one", pngOf(t, drop(400, 800)), 9, 18}, {"a wide one", jpegOf(t, drop(2000, 100)), 60, 3}, {"a small one", pngOf(t, drop(48, 48)), 12.7, 12.7},
	} {
		t.Run(x.name, func(t *testing.T) {
			logo, err := paper.ReadLogo(x.given)
			if err != nil {
				t.Fatal(err)
			}
			l := &paper.Letter{Title: "About your car", From: `Saltmarsh "Lane" Motors`, Car: "invented", Logo: logo}
			var page, sheet, bench, pdf, again bytes.Buffer
			for _, err := range []error{l.HTML(&page), l.PDF(&pdf, time.Unix(0, 0)), l.PDF(&again, time.Unix(0, 0)),
				paper.RepairSheet(&sheet, paper.Heading{Shop: l.From, Logo: logo}, nil, answer.Style{}), paper.BenchSheet(&bench, invented(), paper.Heading{Shop: l.From, Logo: logo})} {
				if err != nil {
					t.Fatal(err)
				}
			}
			for what, text := range map[string]string{"the letter": page.String(), "the repair sheet": sheet.String(), "the bench sheet": bench.String()} {
				if !strings.Contains(text, `<img class="logo" src="data:`+logo.Type+`;base64,`) || !strings.Contains(text, `alt="Saltmarsh &#34;Lane&#34; Motors"`) {
					t.Errorf("%s: no picture with the shop's name: %.900s", what, text[strings.Index(text, "<header>"):])
				}
			}
			if !bytes.Equal(pdf.Bytes(), again.Bytes()) {
				t.Error("the same letter at the same time is another file")
			}
			// S, a, l, t, m, ... in UTF-16, and the picture within the marked sequence.
			if !regexp.MustCompile(`(?s)/Span <</Alt <FEFF00530061006C0074006D[0-9A-F]+>>> BDC\n[^B]*/I[^ ]* Do Q\nEMC`).MatchString(unpacked(t, pdf.Bytes())) {
				t.Error("the PDF says nothing in the picture's place")
			}
			at := placed.FindStringSubmatch(unpacked(t, pdf.Bytes()))
			if at == nil {
				t.Fatal("the PDF has no picture")
			}
			for i, want := range []float64{x.wideMM, x.highMM} {
				if got := number(t, at[1+i]) * 25.4 / 72; got < want-.1 || got > want+.1 {
					t.Errorf("%.1f mm, want %.1f", got, want)
				}
			}
		})
	}
}

func TestALetterWithoutALogoHasNoPicture(t *testing.T) {
	var page bytes.Buffer
	if err := (&paper.Letter{Title: "t"}).HTML(&page); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(page.String(), "<img") {
		t.Error("an empty picture stands at its head")
	}
}
