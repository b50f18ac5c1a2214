package chart

import (
	"fmt"
	"math"
	"strings"
)

// Terminal says how to draw in a terminal.
type Terminal struct {
	Width, Height int  // characters, all told; 0 means 80 by 20
	Color         bool // use ANSI colours; shapes tell the same without
}

// ANSI sequences: dim for bands, bold for the line that matters. No hue carries meaning.
const (
	ansiDim, ansiBold, ansiOff = "\x1b[2m", "\x1b[1m", "\x1b[0m"
	labelWidth                 = 7
	marksNamed                 = "abcdefghijklmnopqrstuvwxyz"
)

// Text draws the plot with braille dots (two by four to a character); bands are
// shaded, events get letters below the axis and a line each in the key.
func (p Plot) Text(t Terminal) string {
	p.drop()
	if t.Width <= 0 {
		t.Width = 80
	}
	if t.Height <= 0 {
		t.Height = 20
	}
	cols, rows := max(t.Width-labelWidth-1, 16), max(t.Height-4, 5)
	x0, x1, y0, y1 := p.limits()
	if p.X.Min == p.X.Max && finite(x0) && x1 > x0 {
		p.X.Min, p.X.Max = x0, x1
	}
	xs := newScale(p.X, x0, x1, 0, float64(cols*2-1), max(3, cols/10))
	ys := newScale(p.Y, y0, y1, float64(rows*4-1), 0, max(3, rows/3))
	c := p.paint(xs, ys, cols, rows)
	var out strings.Builder
	for _, s := range []string{p.Title, p.Y.Label} {
		if s != "" {
			fmt.Fprintf(&out, "%s\n", s)
		}
	}
	labels := make([]string, rows)
	for _, v := range ys.ticks() {
		if r := int(math.Round(ys.at(v))) / 4; r >= 0 && r < rows {
			labels[r] = tickText(v, ys.tick)
		}
	}
	for r := range rows {
		tick := "│"
		if labels[r] != "" {
			tick = "┤"
		}
		fmt.Fprintf(&out, "%*s%s", labelWidth-1, labels[r], tick)
		out.WriteString(strings.TrimRight(rowText(c.dots[r], c.shade[r], c.bold[r], t.Color), " "))
		out.WriteByte('\n')
	}
	p.textAxis(&out, xs, cols)
	return out.String()
}

// canvas is a picture in characters: four rows of two dots in each.
type canvas struct {
	dots        [][]rune
	shade, bold [][]bool
}

func newCanvas(cols, rows int) canvas {
	c := canvas{make([][]rune, rows), make([][]bool, rows), make([][]bool, rows)}
	for r := range rows {
		c.dots[r], c.shade[r], c.bold[r] = make([]rune, cols), make([]bool, cols), make([]bool, cols)
	}
	return c
}

func (c canvas) set(x, y int, strong bool) {
	if x < 0 || y < 0 || y >= len(c.dots)*4 || x >= len(c.dots[0])*2 {
		return
	}
	c.dots[y/4][x/2] |= brailleDot(x%2, y%4)
	c.bold[y/4][x/2] = c.bold[y/4][x/2] || strong
}

// paint draws bands, lines and dots.
func (p Plot) paint(xs, ys scale, cols, rows int) canvas {
	c := newCanvas(cols, rows)
	for _, b := range p.Bands {
		p.shadeBand(b, xs, ys, cols, rows, c.shade)
	}
	if p.Diagonal {
		for x := 0; x < cols*2; x += 4 {
			v := xs.min + (xs.max-xs.min)*float64(x)/float64(cols*2-1)
			c.set(x, int(math.Round(ys.at(v))), false)
		}
	}
	for _, l := range p.Lines {
		drawLine(l, xs, ys, c.set)
	}
	for _, d := range p.Dots {
		for i := range min(len(d.X), len(d.Y)) {
			if finite(d.X[i]) && finite(d.Y[i]) {
				x, y := int(math.Round(xs.at(d.X[i]))), int(math.Round(ys.at(d.Y[i])))
				for _, q := range [][2]int{{0, 0}, {1, 0}, {0, 1}, {1, 1}} {
					c.set(x+q[0], y+q[1], true)
				}
			}
		}
	}
	return c
}

// brailleDot is the bit of the dot in column x (0, 1) and row y (0..3) of a
// braille cell: Unicode numbers dots 1 2 3 7 down the left, 4 5 6 8 down the right.
func brailleDot(x, y int) rune {
	return [2][4]rune{{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}}[x][y]
}

func rowText(dots []rune, shade, bold []bool, color bool) string {
	var b strings.Builder
	for i, d := range dots {
		switch {
		case d != 0 && color && bold[i]:
			b.WriteString(ansiBold + string(0x2800+d) + ansiOff)
		case d != 0:
			b.WriteRune(0x2800 + d)
		case shade[i] && color:
			b.WriteString(ansiDim + "░" + ansiOff)
		case shade[i]:
			b.WriteRune('░')
		default:
			b.WriteByte(' ')
		}
	}
	return b.String()
}

// shadeBand marks the cells whose middle lies within the band.
func (p *Plot) shadeBand(d Band, xs, ys scale, cols, rows int, shade [][]bool) {
	n := min(len(d.X), len(d.Low), len(d.High))
	at := 0
	for c := range cols {
		x := xs.min + (xs.max-xs.min)*(float64(c)*2+0.5)/float64(cols*2-1)
		for at+1 < n && d.X[at+1] <= x {
			at++
		}
		if n == 0 || x < d.X[0] || x > d.X[n-1] || !finite(d.Low[at]) || !finite(d.High[at]) {
			continue
		}
		top, low := ys.at(d.High[at]), ys.at(d.Low[at])
		for r := range rows {
			if mid := float64(r)*4 + 1.5; mid >= top-2 && mid <= low+2 {
				shade[r][c] = true
			}
		}
	}
}

func drawLine(l Curve, xs, ys scale, set func(x, y int, strong bool)) {
	lastX, lastY, pen := 0, 0, false
	for i := range min(len(l.X), len(l.Y)) {
		if !finite(l.X[i]) || !finite(l.Y[i]) {
			pen = false
			continue
		}
		x, y := int(math.Round(xs.at(l.X[i]))), int(math.Round(ys.at(l.Y[i])))
		if !pen {
			lastX, lastY, pen = x, y, true
		}
		n := min(max(abs(x-lastX), abs(y-lastY)), 4000)
		for k := 0; k <= n; k++ {
			f := 0.0
			if n > 0 {
				f = float64(k) / float64(n)
			}
			px, py := lastX+int(math.Round(f*float64(x-lastX))), lastY+int(math.Round(f*float64(y-lastY)))
			if l.Dash && px/3%2 == 1 {
				continue
			}
			set(px, py, l.Accent)
		}
		lastX, lastY = x, y
	}
}

func abs(x int) int {
	if x < 0 {
		return -x
	}
	return x
}

// textAxis writes the axis, its ticks, the marks' letters and their key.
func (p *Plot) textAxis(out *strings.Builder, xs scale, cols int) {
	axis := []rune(strings.Repeat("─", cols))
	labels := []rune(strings.Repeat(" ", cols+8))
	free := 0
	for _, v := range xs.ticks() {
		c := int(math.Round(xs.at(v))) / 2
		if c < 0 || c >= cols {
			continue
		}
		axis[c] = '┬'
		text := []rune(tickText(v, xs.tick))
		if from := max(0, c-len(text)/2); from >= free {
			copy(labels[from:], text)
			free = from + len(text) + 1
		}
	}
	letters := []rune(strings.Repeat(" ", cols))
	any := false
	for i, m := range p.Marks {
		c := int(math.Round(xs.at(m.X))) / 2
		if i >= len(marksNamed) || c < 0 || c >= cols {
			continue
		}
		for c < cols-1 && letters[c] != ' ' {
			c++
		}
		letters[c] = rune(marksNamed[i])
		any = true
	}
	pad := strings.Repeat(" ", labelWidth-1)
	fmt.Fprintf(out, "%s└%s\n", pad, string(axis))
	fmt.Fprintf(out, "%s %s  %s\n", pad, strings.TrimRight(string(labels), " "), p.X.Label)
	if any {
		fmt.Fprintf(out, "%s %s\n", pad, strings.TrimRight(string(letters), " "))
	}
	for i, m := range p.Marks {
		if i < len(marksNamed) {
			fmt.Fprintf(out, "%s %c  %s\n", pad, marksNamed[i], m.Label)
		}
	}
	for _, b := range p.Bands {
		if b.Name != "" {
			fmt.Fprintf(out, "%s ░  %s\n", pad, b.Name)
		}
	}
}
