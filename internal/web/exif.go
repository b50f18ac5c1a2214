package web

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"slices"
)

// withoutPlace is a picture without what cameras write into it besides the picture:
// where and when it was taken, by what, previews, and whatever follows its end.
// The picture itself is not touched, and which way is up is kept.
//
// Sources, from memory: JPEG, ITU-T T.81 annex B; Exif 2.32, section 4.6; PNG, W3C
// third edition, section 5; WebP container, RFC 9649.
func withoutPlace(kind string, content []byte) ([]byte, error) {
	switch kind {
	case "image/jpeg":
		return bareJPEG(content)
	case "image/png":
		return barePNG(content)
	case "image/webp":
		return bareWebP(content)
	}
	return nil, fmt.Errorf("%s is no kind of picture that is taken", kind)
}

var errPicture = fmt.Errorf("the picture is broken: it ends in the middle, or was cut when it was copied")

// Markers of JPEG.
const (
	jpegStart, jpegEnd = 0xd8, 0xd9
	jpegScan           = 0xda
	jpegApp0           = 0xe0
	jpegExif           = 0xe1 // Exif and XMP
	jpegICC            = 0xe2 // colour profiles, and further pictures
	jpegAdobe          = 0xee
)

// bareJPEG keeps the segments that the picture is made of.
func bareJPEG(in []byte) ([]byte, error) {
	if len(in) < 4 || in[0] != 0xff || in[1] != jpegStart {
		return nil, errPicture
	}
	var up []byte
	kept := [][]byte{}
	for at := 2; ; {
		for at+2 < len(in) && in[at] == 0xff && in[at+1] == 0xff {
			at++ // any number of fill bytes may stand before a marker
		}
		if at+2 > len(in) || in[at] != 0xff {
			return nil, errPicture
		}
		marker := in[at+1]
		if marker == jpegEnd { // what follows is another picture, or no picture
			kept = append(kept, in[at:at+2])
			break
		}
		if at+4 > len(in) {
			return nil, errPicture
		}
		end := at + 2 + int(binary.BigEndian.Uint16(in[at+2:]))
		if end > len(in) || end < at+4 {
			return nil, errPicture
		}
		switch body := in[at+4 : end]; {
		case marker == jpegExif:
			if o := orientation(body); o > 1 && up == nil {
				up = uprightExif(o)
			}
		case marker == jpegScan:
			end = scanEnd(in, end)
			kept = append(kept, in[at:end])
		case marker == jpegApp0, marker == jpegAdobe, marker < jpegApp0,
			marker == jpegICC && bytes.HasPrefix(body, []byte("ICC_PROFILE\x00")):
			kept = append(kept, in[at:end])
		}
		at = end
	}
	out := append(make([]byte, 0, len(in)+len(up)), in[:2]...)
	out = append(out, up...)
	for _, part := range kept {
		out = append(out, part...)
	}
	return out, nil
}

// scanEnd is where the coded data of a scan end: at the next marker that is
// neither a stuffed byte nor a restart.
func scanEnd(in []byte, at int) int {
	for ; at+1 < len(in); at++ {
		if next := in[at+1]; in[at] == 0xff && next != 0 && next != 0xff && (next < 0xd0 || next > 0xd7) {
			return at
		}
	}
	return len(in)
}

// orientation reads which way is up from an Exif segment: 1 to 8, 1 where it does
// not say.
func orientation(body []byte) int {
	tiff, ok := bytes.CutPrefix(body, []byte(exifHead))
	if !ok {
		return 1
	}
	return orientationIn(tiff)
}

// exifHead stands before the tags in a JPEG, and in some WebP.
const exifHead = "Exif\x00\x00"

// orientationIn reads it from the tags themselves.
func orientationIn(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.LittleEndian
	if string(tiff[:2]) == "MM" {
		order = binary.BigEndian
	}
	at := int(order.Uint32(tiff[4:]))
	if at < 8 || at+2 > len(tiff) {
		return 1
	}
	for n := int(order.Uint16(tiff[at:])); n > 0; n-- {
		entry := at + 2 + 12*(n-1)
		if entry+12 > len(tiff) {
			continue
		}
		if order.Uint16(tiff[entry:]) == 0x0112 {
			if o := int(order.Uint16(tiff[entry+8:])); o >= 1 && o <= 8 {
				return o
			}
		}
	}
	return 1
}

// uprightExif is a segment that says which way is up and nothing else.
func uprightExif(o int) []byte {
	return slices.Concat([]byte{0xff, jpegExif, 0, 34}, []byte(exifHead), uprightTags(o))
}

// uprightTags are the tags that say so.
func uprightTags(o int) []byte {
	return append([]byte("MM\x00*"), 0, 0, 0, 8, 0, 1, 0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, byte(o), 0, 0, 0, 0, 0, 0)
}

// pngKept are the chunks that a picture is made of or looks right by.
var pngKept = []string{"IHDR", "PLTE", "IDAT", "IEND", "tRNS", "cHRM", "gAMA", "iCCP", "sBIT", "sRGB", "cICP", "bKGD", "pHYs", "acTL", "fcTL", "fdAT"}

func barePNG(in []byte) ([]byte, error) {
	const head = "\x89PNG\r\n\x1a\n"
	if !bytes.HasPrefix(in, []byte(head)) {
		return nil, errPicture
	}
	out, up := append(make([]byte, 0, len(in)), head...), false
	for at := len(head); ; {
		if at+12 > len(in) {
			return nil, errPicture
		}
		n := int(binary.BigEndian.Uint32(in[at:]))
		if n < 0 || n > len(in)-at-12 {
			return nil, errPicture
		}
		end := at + 12 + n
		if crc32.ChecksumIEEE(in[at+4:end-4]) != binary.BigEndian.Uint32(in[end-4:]) {
			return nil, errPicture
		}
		name := string(in[at+4 : at+8])
		if slices.Contains(pngKept, name) {
			out = append(out, in[at:end]...)
		}
		if o := orientationIn(in[at+8 : end-4]); name == "eXIf" && o > 1 && !up {
			up = true
			chunk := append([]byte("eXIf"), uprightTags(o)...)
			out = binary.BigEndian.AppendUint32(out, uint32(len(chunk)-4))
			out = binary.BigEndian.AppendUint32(append(out, chunk...), crc32.ChecksumIEEE(chunk))
		}
		if name == "IEND" {
			return out, nil
		}
		at = end
	}
}

// Flags of a WebP's first chunk.
const webpExif, webpXMP = 0x08, 0x04

// bareWebP drops the chunks EXIF and XMP and the flags that announce them. Of the first only
// which way is up stays.
func bareWebP(in []byte) ([]byte, error) {
	if len(in) < 12 || string(in[:4]) != "RIFF" || string(in[8:12]) != "WEBP" {
		return nil, errPicture
	}
	size := int(binary.LittleEndian.Uint32(in[4:])) + 8
	if size > len(in) || size < 12 {
		return nil, errPicture
	}
	out, flags := append(make([]byte, 0, size), in[:12]...), -1 // flags is where they stand
	for at := 12; at < size; {
		if at+8 > size {
			return nil, errPicture
		}
		n := int(binary.LittleEndian.Uint32(in[at+4:]))
		end := at + 8 + n + n%2
		if n < 0 || end > size {
			return nil, errPicture
		}
		switch chunk := slices.Clone(in[at:end]); string(in[at : at+4]) {
		case "VP8X":
			if n > 0 {
				chunk[8] &^= webpExif | webpXMP
				flags = len(out) + 8
			}
			out = append(out, chunk...)
		case "EXIF":
			o := orientationIn(bytes.TrimPrefix(chunk[8:8+n], []byte(exifHead)))
			if o > 1 && flags >= 0 && out[flags]&webpExif == 0 {
				out[flags] |= webpExif
				tags := uprightTags(o)
				out = binary.LittleEndian.AppendUint32(append(out, "EXIF"...), uint32(len(tags)))
				out = append(out, tags...)
			}
		case "VP8 ", "VP8L", "ALPH", "ANIM", "ANMF", "ICCP":
			out = append(out, chunk...)
		}
		at = end
	}
	binary.LittleEndian.PutUint32(out[4:], uint32(len(out)-8))
	return out, nil
}
