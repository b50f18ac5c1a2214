package trace

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// maxLine bounds a line. Wide logs have a few hundred columns of a dozen
// characters; what is longer than this is no log.
const maxLine = 1 << 20

// sampleBytes is how much of the file is looked at before reading begins.
const sampleBytes = 256 << 10

// lines hands out a file's lines, whatever its compression, encoding and line
// ends, in constant memory.
type lines struct {
	r     *bufio.Reader
	end   byte // '\n', or '\r' for old line ends
	n     int  // lines handed out
	long  []byte
	cut   bool // the compressed stream broke off
	gz    bool
	zip   bool
	encod string
	whole bool // the last line handed out had its line end
}

// openLines unpacks, decodes and refuses what is no text.
func openLines(r io.Reader) (*lines, error) {
	br := bufio.NewReaderSize(r, sampleBytes)
	l := &lines{end: '\n'}
	for range 2 { // a .gz within a .gz happens when a browser "helps"
		head, _ := br.Peek(3)
		if len(head) < 3 || head[0] != 0x1f || head[1] != 0x8b || head[2] != 8 {
			break
		}
		z, err := gzip.NewReader(br)
		if err != nil {
			return nil, fmt.Errorf("the file begins like gzip but cannot be unpacked: %w; copy it from the logger again", err)
		}
		l.gz = true
		br = bufio.NewReaderSize(z, sampleBytes)
	}
	if head, _ := br.Peek(4); bytes.Equal(head, []byte("PK\x03\x04")) {
		inner, err := unzip(br)
		if err != nil {
			return nil, err
		}
		l.zip = true
		br = bufio.NewReaderSize(inner, sampleBytes)
	}
	head, err := br.Peek(sampleBytes)
	if len(head) == 0 {
		if err != nil && err != io.EOF {
			return nil, &readerError{fmt.Errorf("nothing can be read: %w", err)}
		}
		return nil, errors.New("the file is empty; a log with time and coolant temperature is wanted")
	}
	if kind := notText(head); kind != "" {
		return nil, errors.New(kind)
	}
	switch {
	case bytes.HasPrefix(head, []byte{0xef, 0xbb, 0xbf}):
		_, _ = br.Discard(3)
		l.encod = "UTF-8 with a byte order mark"
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}), bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		br = bufio.NewReaderSize(transform.NewReader(br, unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder()), sampleBytes)
		l.encod = "UTF-16"
	default:
		if order, ok := bareUTF16(head); ok {
			br = bufio.NewReaderSize(transform.NewReader(br, unicode.UTF16(order, unicode.IgnoreBOM).NewDecoder()), sampleBytes)
			l.encod = "UTF-16 without a byte order mark"
		}
	}
	head, _ = br.Peek(sampleBytes)
	if !bytes.ContainsRune(head, '\n') && bytes.ContainsRune(head, '\r') {
		l.end = '\r'
	}
	l.r = br
	return l, nil
}

// notText names files that people hand over by mistake, and what to do instead.
func notText(head []byte) string {
	has := func(s string) bool { return bytes.HasPrefix(head, []byte(s)) }
	switch {
	case has("PK\x03\x04"):
		return "this is a zip archive or a spreadsheet's own file, not text; open it and save the sheet as CSV"
	case has("\xd0\xcf\x11\xe0"):
		return "this is an old spreadsheet file, not text; open it and save the sheet as CSV"
	case has("%PDF"):
		return "this is a PDF, not a log; export the readings as CSV"
	case has("\x89PNG"), has("\xff\xd8\xff"), has("GIF8"):
		return "this is a picture, not a log; export the readings as CSV"
	case has("SQLite format 3"):
		return "this is a database file, not text; export the readings as CSV"
	case has("MDF     "):
		return "this is a binary measurement file, not text; export the readings as CSV"
	}
	t := bytes.TrimLeft(head, " \t\r\n\xef\xbb\xbf")
	switch {
	case len(t) > 0 && t[0] == '<':
		return "this is XML or a web page, not delimited text; export the readings as CSV"
	case len(t) > 1 && (t[0] == '{' || t[0] == '[' && (t[1] == '{' || t[1] == '[' || t[1] == '\n')):
		return "this is JSON, not delimited text; export the readings as CSV"
	}
	if _, ok := bareUTF16(head); ok || bytes.HasPrefix(head, []byte{0xff, 0xfe}) || bytes.HasPrefix(head, []byte{0xfe, 0xff}) {
		return ""
	}
	control := 0
	for _, c := range head {
		if c < 32 && c != '\n' && c != '\r' && c != '\t' && c != '\f' && c != 0x1a {
			control++
		}
	}
	if control*100 > len(head) {
		return fmt.Sprintf("this is not text: %d of its first %d bytes are control codes; export the readings as CSV", control, len(head))
	}
	return ""
}

// bareUTF16 recognises UTF-16 without its mark: nearly every second byte is nil.
func bareUTF16(head []byte) (order unicode.Endianness, ok bool) {
	n := min(len(head), 4096) &^ 1
	if n < 8 {
		return unicode.LittleEndian, false
	}
	even, odd := 0, 0
	for i := 0; i < n; i += 2 {
		if head[i] == 0 {
			even++
		}
		if head[i+1] == 0 {
			odd++
		}
	}
	switch half := n / 2; {
	case odd*10 > half*7 && even*10 < half:
		return unicode.LittleEndian, true
	case even*10 > half*7 && odd*10 < half:
		return unicode.BigEndian, true
	}
	return unicode.LittleEndian, false
}

// next returns one line without its end, valid until the following call, and
// io.EOF after the last.
func (l *lines) next() ([]byte, error) {
	line, err := l.r.ReadSlice(l.end)
	if err == bufio.ErrBufferFull {
		l.long = append(l.long[:0], line...)
		for err == bufio.ErrBufferFull && len(l.long) <= maxLine {
			line, err = l.r.ReadSlice(l.end)
			l.long = append(l.long, line...)
		}
		if len(l.long) > maxLine {
			return nil, fmt.Errorf("line %d is longer than %d bytes: no log has such rows", l.n+1, maxLine)
		}
		line = l.long
	}
	var archive *archiveError
	switch {
	case err == nil:
	case errors.As(err, &archive):
		return nil, archive
	case errors.Is(err, io.EOF):
		if len(line) == 0 {
			return nil, io.EOF
		}
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, gzip.ErrChecksum), isFlateError(err):
		// What came before the break is good evidence; the break is told.
		l.cut = true
		if len(line) == 0 {
			return nil, io.EOF
		}
	default:
		return nil, &readerError{fmt.Errorf("read line %d: %w", l.n+1, err)}
	}
	l.n++
	l.whole = len(line) > 0 && line[len(line)-1] == l.end
	if l.whole {
		line = line[:len(line)-1]
	}
	for len(line) > 0 && (line[len(line)-1] == '\r' || line[len(line)-1] == 0x1a) {
		line = line[:len(line)-1]
	}
	return line, nil
}

// readerError is a failure of the reader, not of the log.
type readerError struct{ error }

func (e *readerError) Unwrap() error { return e.error }

func isFlateError(err error) bool { return strings.HasPrefix(err.Error(), "flate: ") }

// decodeText reads bytes as UTF-8 or else as Windows-1252, and undoes text that
// was encoded twice ("Â°C").
func decodeText(b []byte) string {
	s := string(b)
	if !utf8.Valid(b) {
		if t, err := charmap.Windows1252.NewDecoder().Bytes(b); err == nil {
			s = string(t)
		}
	}
	for range 2 {
		if !strings.ContainsAny(s, "ÂÃ") {
			break
		}
		t, err := charmap.Windows1252.NewEncoder().String(s)
		if err != nil {
			// Â followed by a C1 control is beyond Windows-1252.
			t, err = charmap.ISO8859_1.NewEncoder().String(s)
		}
		if err != nil || !utf8.ValidString(t) {
			break
		}
		s = t
	}
	return s
}

// fields splits a line at the delimiter, quotes respected, into dst. A
// delimiter of ' ' means any run of blanks.
func fields(line []byte, delim byte, dst [][]byte) [][]byte {
	dst = dst[:0]
	if delim == ' ' {
		return append(dst, bytes.Fields(line)...)
	}
	if bytes.IndexByte(line, '"') < 0 {
		for {
			i := bytes.IndexByte(line, delim)
			if i < 0 {
				return append(dst, line)
			}
			dst = append(dst, line[:i])
			line = line[i+1:]
		}
	}
	for {
		var cell []byte
		trimmed := bytes.TrimLeft(line, " ")
		if len(trimmed) > 0 && trimmed[0] == '"' {
			rest := trimmed[1:]
			end := 0
			double := false
			for end < len(rest) {
				if rest[end] == '"' {
					if end+1 < len(rest) && rest[end+1] == '"' {
						double = true
						end += 2
						continue
					}
					break
				}
				end++
			}
			if end < len(rest) { // closed; an unclosed quote is taken as a letter
				cell = rest[:end]
				if double {
					cell = bytes.ReplaceAll(cell, []byte(`""`), []byte(`"`))
				}
				after := rest[end+1:]
				i := bytes.IndexByte(after, delim)
				dst = append(dst, cell)
				if i < 0 {
					return dst
				}
				line = after[i+1:]
				continue
			}
		}
		i := bytes.IndexByte(line, delim)
		if i < 0 {
			return append(dst, line)
		}
		dst = append(dst, line[:i])
		line = line[i+1:]
	}
}
