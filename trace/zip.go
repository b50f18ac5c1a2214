package trace

import (
	"bufio"
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// unzip hands out the one log in a zip archive as a stream, so that memory does
// not depend on the archive. Archives are read by their local headers (PKWARE
// APPNOTE.TXT, section 4.3.7). More than one log is refused: none is guessed.
func unzip(br *bufio.Reader) (io.Reader, error) {
	z := &zipReader{in: br}
	if err := z.nextLog(); err != nil {
		return nil, err
	}
	if z.body == nil {
		return nil, errors.New("the zip archive holds no log; put the CSV or text file into it, or give the file itself")
	}
	return z, nil
}

type zipReader struct {
	in    *bufio.Reader
	name  string    // of the log
	body  io.Reader // nil behind the last
	after bool      // a data descriptor follows
	done  error     // what further reads get
}

// archiveError is an archive that cannot be used, and why.
type archiveError struct{ why string }

func (e *archiveError) Error() string { return e.why }

func (z *zipReader) Read(p []byte) (int, error) {
	if z.done != nil {
		return 0, z.done
	}
	n, err := z.body.Read(p)
	if err != io.EOF || n > 0 {
		if err == io.EOF {
			err = nil
		}
		return n, err
	}
	first := z.name
	z.skipDescriptor()
	z.body = nil
	z.done = io.EOF
	if err := z.nextLog(); err == nil && z.body != nil {
		z.done = &archiveError{fmt.Sprintf("the zip archive holds more than one log: %s and %s; unpack it and give one", first, z.name)}
	}
	return 0, z.done
}

// nextLog goes to the next entry that is a log by its name.
func (z *zipReader) nextLog() error {
	for {
		more, err := z.next()
		if err != nil || !more {
			return err
		}
		base := path.Base(z.name)
		switch {
		case z.name == "[Content_Types].xml" || strings.HasPrefix(z.name, "xl/") || z.name == "mimetype":
			return errors.New("this is a spreadsheet's own file, not text; open it and save the sheet as CSV")
		case strings.HasSuffix(z.name, "/"), strings.HasPrefix(z.name, "__MACOSX/"), strings.HasPrefix(base, "."):
		case isLogName(base):
			return nil
		}
		if _, err := io.Copy(io.Discard, z.body); err != nil {
			return fmt.Errorf("the zip archive is damaged at %s: %w", z.name, err)
		}
		z.skipDescriptor()
	}
}

func isLogName(base string) bool {
	switch strings.ToLower(path.Ext(base)) {
	case ".csv", ".txt", ".log", ".tsv", ".dat", ".asc", ".gz", "":
		return !strings.HasPrefix(strings.ToLower(base), "readme")
	}
	return false
}

// next reads one local header; false at the directory that ends the entries.
func (z *zipReader) next() (bool, error) {
	z.body = nil
	head, err := z.in.Peek(30)
	if err != nil || !bytes.HasPrefix(head, []byte("PK\x03\x04")) {
		return false, nil
	}
	le := binary.LittleEndian
	flags, method := le.Uint16(head[6:]), le.Uint16(head[8:])
	packed := int64(le.Uint32(head[18:]))
	nameLen, extraLen := int(le.Uint16(head[26:])), int(le.Uint16(head[28:]))
	if _, err := z.in.Discard(30); err != nil {
		return false, err
	}
	name := make([]byte, nameLen)
	if _, err := io.ReadFull(z.in, name); err != nil {
		return false, errors.New("the zip archive is cut off; copy it again")
	}
	if _, err := z.in.Discard(extraLen); err != nil {
		return false, errors.New("the zip archive is cut off; copy it again")
	}
	z.name, z.after = decodeText(name), flags&8 != 0
	switch {
	case flags&1 != 0:
		return false, errors.New("the zip archive is locked with a password; unpack it first")
	case method == 8:
		z.body = flate.NewReader(z.in)
	case method == 0 && !z.after:
		z.body = io.LimitReader(z.in, packed)
	default:
		return false, fmt.Errorf("%s is packed in a way that cannot be read; unpack the archive first", z.name)
	}
	return true, nil
}

// skipDescriptor passes over what follows a body of unknown size.
func (z *zipReader) skipDescriptor() {
	if !z.after {
		return
	}
	n := 12
	if head, err := z.in.Peek(4); err == nil && bytes.Equal(head, []byte("PK\x07\x08")) {
		n = 16
	}
	_, _ = z.in.Discard(n)
	// Large archives give their sizes in eight bytes each.
	if head, err := z.in.Peek(12); err == nil && !bytes.HasPrefix(head, []byte("PK")) && bytes.HasPrefix(head[8:], []byte("PK")) {
		_, _ = z.in.Discard(8)
	}
}
