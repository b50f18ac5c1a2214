package paper

import (
	"bytes"
	_ "embed"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf16"

	"codeberg.org/go-pdf/fpdf"
)

//go:embed fonts/DejaVuSans.ttf
var regular []byte

//go:embed fonts/DejaVuSans-Bold.ttf
var bold []byte

// Measures of the page, mm and pt. Design choices.
const (
	margin    = 16.0
	lineMM    = 4.3
	textPt    = 8.8
	headPt    = 10.2
	titlePt   = 14.0
	pageMM    = 210.0
	chartMM   = 56.0
	firstCell = 62.0
)

// PDF writes the letter as A4 pages with real text and embedded fonts. made is
// the time written into the file: the same letter at the same time is the same
// file.
func (l *Letter) PDF(w io.Writer, made time.Time) error {
	f := fpdf.New("P", "mm", "A4", "")
	f.SetCatalogSort(true)
	f.SetCreationDate(made.UTC())
	f.SetModificationDate(made.UTC())
	f.SetLang("en")
	f.SetTitle(l.Title, true)
	f.SetSubject(l.Car, true)
	f.SetAuthor(l.From, true)
	f.SetDisplayMode("fullwidth", "continuous")
	f.AddUTF8FontFromBytes("text", "", regular)
	f.AddUTF8FontFromBytes("text", "B", bold)
	f.SetMargins(margin, margin, margin)
	f.SetAutoPageBreak(true, margin)
	f.SetFooterFunc(func() {
		f.SetY(-11)
		f.SetFont("text", "", 7)
		f.CellFormat(0, 4, fmt.Sprintf("%s, page %d", l.Car, f.PageNo()), "", 0, "R", false, 0, "")
	})
	f.AddPage()
	foot := drawLogo(f, l.Logo, l.From)
	f.SetFont("text", "B", titlePt)
	f.MultiCell(0, 7, l.Title, "", "L", false)
	f.SetFont("text", "", textPt)
	who := l.From
	if who != "" && l.Date != "" {
		who += ", "
	}
	f.MultiCell(0, lineMM, who+l.Date, "", "L", false)
	f.MultiCell(0, lineMM, l.Car, "", "L", false)
	f.SetRightMargin(margin)
	f.SetY(max(f.GetY(), foot))
	f.SetLineWidth(0.5)
	f.Line(margin, f.GetY()+1, pageMM-margin, f.GetY()+1)
	f.Ln(2)
	for i := range l.Sections {
		setSection(f, &l.Sections[i])
	}
	if err := f.Output(w); err != nil {
		return fmt.Errorf("letter: %w", err)
	}
	return nil
}

// drawLogo draws the logo at the head's right, keeps the text off it, and says where it
// ends. What is read aloud in its place is the shop's name: the alternate description of
// a marked sequence (ISO 32000-1, 14.9.3), which the library has no call for.
func drawLogo(f *fpdf.Fpdf, l *Logo, shop string) (foot float64) {
	if l == nil {
		return 0
	}
	const name = "logo"
	as := fpdf.ImageOptions{ImageType: map[string]string{"image/png": "PNG", "image/jpeg": "JPG"}[l.Type]}
	f.RegisterImageOptionsReader(name, as, bytes.NewReader(l.Data))
	wide, high := l.mm()
	f.RawWriteStr("/Span <</Alt " + pdfText(logoSays(shop)) + ">> BDC")
	f.ImageOptions(name, pageMM-margin-wide, margin, wide, high, false, as, 0, "")
	f.RawWriteStr("EMC")
	f.SetRightMargin(margin + wide + logoGapMM)
	return margin + high
}

// pdfText is a text string of a PDF: UTF-16, big end first, behind its mark, in hexadecimal
// digits (ISO 32000-1, 7.9.2.2 and 7.3.4.3).
func pdfText(s string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, u := range utf16.Encode([]rune(s)) {
		fmt.Fprintf(&b, "%04X", u)
	}
	return b.String() + ">"
}

// room breaks the page where less than so many mm are left.
func room(f *fpdf.Fpdf, mm float64) {
	_, height := f.GetPageSize()
	if f.GetY()+mm > height-margin {
		f.AddPage()
	}
}

func setSection(f *fpdf.Fpdf, s *Section) {
	room(f, 16) // a heading does not stand alone at the foot
	f.Ln(1.6)
	f.SetFont("text", "B", headPt)
	f.Bookmark(s.Head, 0, -1)
	f.MultiCell(0, 5, s.Head, "", "L", false)
	f.SetFont("text", "", textPt)
	for _, p := range s.Paras {
		f.MultiCell(0, lineMM, p, "", "L", false)
		f.Ln(0.6)
	}
	f.SetLineWidth(0.1)
	for _, r := range s.Rows {
		setRow(f, r)
	}
	for _, item := range s.Items {
		lines := f.SplitText(item, pageMM-2*margin-6)
		room(f, float64(len(lines))*lineMM)
		f.CellFormat(4, lineMM, "•", "", 0, "R", false, 0, "")
		f.SetX(margin + 5)
		f.MultiCell(0, lineMM, item, "", "L", false)
	}
	if s.Chart != nil {
		drawPlot(f, s.Chart)
	}
}

// setRow sets what and showed side by side, as high as the higher of them.
func setRow(f *fpdf.Fpdf, r [2]string) {
	rest := pageMM - 2*margin - firstCell
	lines := max(len(f.SplitText(r[0], firstCell-2)), len(f.SplitText(r[1], rest-2)))
	height := float64(lines)*lineMM + 0.8
	room(f, height)
	y := f.GetY()
	f.MultiCell(firstCell, lineMM, r[0], "", "L", false)
	f.SetXY(margin+firstCell, y)
	f.MultiCell(rest, lineMM, r[1], "", "L", false)
	f.SetXY(margin, y+height)
	f.Line(margin, y+height-0.4, pageMM-margin, y+height-0.4)
}
