package paper

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
	"net/http"
	"strings"
)

// Logo is the shop's picture for the head of a letter or a sheet, drawn again from what
// was given: nothing else that the file held is in it.
type Logo struct {
	Type          string // "image/png" or "image/jpeg"
	Width, Height int    // pixels
	Data          []byte
}

// Bounds of a logo. The bytes and pixels are judgement: 2,000 pixels are more than a
// printer shows on 60 mm, and one such picture unpacks to 16 MB.
const (
	MostLogoBytes = 200_000
	logoPixels    = 2000
	logoLeast     = 16                // pixels; less is a spot
	logoRedrawn   = 2 * MostLogoBytes // bytes once drawn again: it packs worse than the best programs
	logoQuality   = 92                // of a JPEG drawn again; judgement, no difference is seen
)

// How large a logo is drawn at most, mm: a heading's height, and a third of the line.
// Design choices; style.css says the same.
const (
	logoHighMM = 18.0
	logoWideMM = 60.0
	logoGapMM  = 4.0
)

// instead is what to give where a picture cannot be taken.
const instead = "give a PNG or JPEG of at most 200 kB and 2,000 by 2,000 pixels"

// ReadLogo takes a shop's picture. What it is goes by its content, never by its name. An
// error says what is wrong with it and what to give instead.
func ReadLogo(given []byte) (*Logo, error) {
	switch {
	case len(given) == 0:
		return nil, fmt.Errorf("the logo's file is empty; %s", instead)
	case len(given) > MostLogoBytes:
		return nil, fmt.Errorf("the logo has %d kB; %s", (len(given)+999)/1000, instead)
	}
	l := &Logo{}
	var look func([]byte) (image.Config, error)
	var read func([]byte) (image.Image, error)
	switch kind := http.DetectContentType(given); kind {
	case "image/png":
		l.Type = kind
		look = func(b []byte) (image.Config, error) { return png.DecodeConfig(bytes.NewReader(b)) }
		read = func(b []byte) (image.Image, error) { return png.Decode(bytes.NewReader(b)) }
	case "image/jpeg":
		l.Type = kind
		look = func(b []byte) (image.Config, error) { return jpeg.DecodeConfig(bytes.NewReader(b)) }
		read = func(b []byte) (image.Image, error) { return jpeg.Decode(bytes.NewReader(b)) }
	default:
		return nil, fmt.Errorf("the logo is %s; %s", kindOf(kind, given), instead)
	}
	c, err := look(given) // before anything is unpacked: a small file can claim to be huge
	if err != nil {
		return nil, fmt.Errorf("the logo is broken, or was cut when it was copied; %s", instead)
	}
	if c.Width > logoPixels || c.Height > logoPixels {
		return nil, fmt.Errorf("the logo has %d by %d pixels; %s", c.Width, c.Height, instead)
	}
	if c.Width < logoLeast || c.Height < logoLeast {
		return nil, fmt.Errorf("the logo has only %d by %d pixels, and nobody could see it; give one of 200 pixels or more", c.Width, c.Height)
	}
	m, err := read(given)
	if err != nil {
		return nil, fmt.Errorf("the logo is broken, or was cut when it was copied; %s", instead)
	}
	l.Width, l.Height = m.Bounds().Dx(), m.Bounds().Dy()
	if l.Data, err = redrawn(l.Type, m); err != nil {
		return nil, fmt.Errorf("draw the logo: %w", err)
	}
	if len(l.Data) > logoRedrawn {
		return nil, fmt.Errorf("the logo has %d kB once it is drawn; give it with half as many pixels, or as a JPEG", len(l.Data)/1000)
	}
	return l, nil
}

// kindOf says what a file is that is no picture to take.
func kindOf(kind string, given []byte) string {
	switch {
	case kind == "image/gif":
		return "a GIF"
	case kind == "image/webp":
		return "a WebP"
	case bytes.Contains(given, []byte("<svg")):
		return "an SVG, which may hold programs"
	case strings.HasPrefix(kind, "image/"):
		return "a picture of another kind (" + strings.TrimPrefix(kind, "image/") + ")"
	case kind == "application/pdf":
		return "a PDF"
	}
	return "no picture that can be read"
}

// redrawn writes a picture in the plainest form of its kind: eight bits a colour, not
// interlaced, which the PDF's writer and every browser can read.
func redrawn(kind string, m image.Image) ([]byte, error) {
	var out bytes.Buffer
	if kind == "image/jpeg" {
		err := jpeg.Encode(&out, m, &jpeg.Options{Quality: logoQuality})
		return out.Bytes(), err
	}
	plain := image.NewNRGBA(image.Rect(0, 0, m.Bounds().Dx(), m.Bounds().Dy()))
	draw.Draw(plain, plain.Bounds(), m, m.Bounds().Min, draw.Src)
	err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&out, plain)
	return out.Bytes(), err
}

// errNoLogo is of bytes that ReadLogo has not made.
var errNoLogo = errors.New("what was kept as the shop's logo is none; give it again in the settings")

// KeptLogo is a logo again from the bytes that ReadLogo made of it.
func KeptLogo(data []byte) (*Logo, error) {
	c, kind, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || kind != "png" && kind != "jpeg" || c.Width > logoPixels || c.Height > logoPixels {
		return nil, errNoLogo
	}
	return &Logo{"image/" + kind, c.Width, c.Height, data}, nil
}

// Source is the picture as the source of an image in a page that needs nothing from
// elsewhere.
func (l *Logo) Source() template.URL {
	return template.URL("data:" + l.Type + ";base64," + base64.StdEncoding.EncodeToString(l.Data)) // of our own writing
}

// logoSays is what is read in the logo's place where no picture can be seen.
func logoSays(shop string) string {
	if shop == "" {
		return "The shop’s logo"
	}
	return shop
}

// pixelMM is a pixel of a page, CSS Values 4: 96 to an inch of 25.4 mm.
const pixelMM = 25.4 / 96

// mm is how large it is drawn: never enlarged.
func (l *Logo) mm() (wide, high float64) {
	scale := min(pixelMM, logoHighMM/float64(l.Height), logoWideMM/float64(l.Width))
	return scale * float64(l.Width), scale * float64(l.Height)
}
