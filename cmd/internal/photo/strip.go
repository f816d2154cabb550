package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"slices"
)

// Strip gives a JPEG or PNG picture without location, owner, time, thumbnail and
// remarks. The error says why it is not taken.
func Strip(data []byte) ([]byte, error) {
	switch {
	case bytes.HasPrefix(data, []byte{0xff, 0xd8, 0xff}):
		return stripJPEG(data)
	case bytes.HasPrefix(data, pngSignature):
		return stripPNG(data)
	}
	return nil, errors.New("neither a JPEG nor a PNG picture: save it as one of these, other forms hide where they were taken")
}

var (
	pngSignature = []byte("\x89PNG\r\n\x1a\n")
	errCut       = errors.New("the picture ends too early")
)

// Markers of JPEG.
const (
	markAPP0  = 0xe0 // JFIF: density
	markAPP1  = 0xe1 // Exif or XMP
	markAPP2  = 0xe2 // colour profile
	markAPP14 = 0xee // how colours are coded
	markAPP15 = 0xef
	markCOM   = 0xfe
	markSOS   = 0xda // the picture follows
	markEOI   = 0xd9
)

// stripJPEG copies the segments before the picture that are needed to show it,
// and the picture up to its end; what a camera appends behind that goes.
func stripJPEG(data []byte) ([]byte, error) {
	out := []byte{0xff, 0xd8}
	rest := data[2:]
	for {
		for len(rest) > 1 && rest[0] == 0xff && rest[1] == 0xff { // fill
			rest = rest[1:]
		}
		if len(rest) < 4 || rest[0] != 0xff {
			return nil, errCut
		}
		mark, length := rest[1], int(binary.BigEndian.Uint16(rest[2:]))+2
		if length < 4 || length > len(rest) {
			return nil, errCut
		}
		if mark == markSOS {
			return endOfScans(out, rest)
		}
		segment := rest[:length]
		rest = rest[length:]
		switch {
		case mark == markAPP1:
			out = append(out, orientationAlone(segment)...)
		case mark >= markAPP0 && mark <= markAPP15 && !needed(mark, segment), mark == markCOM:
		default:
			out = append(out, segment...)
		}
	}
}

// needed tells whether an application segment is needed to show the picture.
func needed(mark byte, segment []byte) bool {
	switch mark {
	case markAPP0:
		return bytes.HasPrefix(segment[4:], []byte("JFIF\x00"))
	case markAPP2:
		return bytes.HasPrefix(segment[4:], []byte("ICC_PROFILE\x00"))
	case markAPP14:
		return bytes.HasPrefix(segment[4:], []byte("Adobe"))
	}
	return false
}

// endOfScans copies scans and the segments between them up to the end of the
// picture.
func endOfScans(out, rest []byte) ([]byte, error) {
	for i := 0; i+1 < len(rest); {
		mark := rest[i+1]
		switch {
		case rest[i] != 0xff || mark == 0xff:
			i++
		case mark == 0 || mark >= 0xd0 && mark <= 0xd7: // a byte of the picture, or a restart
			i += 2
		case mark == markEOI:
			return append(out, rest[:i+2]...), nil
		case i+4 > len(rest):
			return nil, errCut
		default:
			end := i + 2 + int(binary.BigEndian.Uint16(rest[i+2:]))
			if end < i+4 || end > len(rest) {
				return nil, errCut
			}
			if mark >= markAPP0 && mark <= markAPP15 || mark == markCOM {
				out = append(out, rest[:i]...)
				rest, end = rest[end:], 0
			}
			i = end
		}
	}
	return nil, errCut
}

// tagOrientation is the Exif tag that says which way up a picture is, 1 to 8.
const tagOrientation = 0x0112

// orientationAlone gives an Exif segment with the orientation of another one and
// nothing else; nothing where that is upright or not given.
func orientationAlone(segment []byte) []byte {
	tiff, found := bytes.CutPrefix(segment[4:], []byte("Exif\x00\x00"))
	if !found || len(tiff) < 8 {
		return nil
	}
	var order binary.ByteOrder = binary.BigEndian
	if bytes.HasPrefix(tiff, []byte("II")) {
		order = binary.LittleEndian
	}
	at := order.Uint32(tiff[4:])
	if at < 8 || uint64(at)+2 > uint64(len(tiff)) {
		return nil
	}
	entries := tiff[at+2:]
	for n := order.Uint16(tiff[at:]); n > 0 && len(entries) >= 12; n, entries = n-1, entries[12:] {
		if order.Uint16(entries) != tagOrientation {
			continue
		}
		if o := order.Uint16(entries[8:]); o >= 2 && o <= 8 {
			return exifOf(o)
		}
		return nil
	}
	return nil
}

func exifOf(orientation uint16) []byte {
	tiff := []byte("MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x00\x00\x00\x00\x00\x00\x00")
	binary.BigEndian.PutUint16(tiff[18:], orientation)
	body := append([]byte("Exif\x00\x00"), tiff...)
	segment := binary.BigEndian.AppendUint16([]byte{0xff, markAPP1}, uint16(len(body)+2))
	return append(segment, body...)
}

// shown are the chunks of PNG that are needed to show a picture.
var shown = []string{
	"IHDR", "PLTE", "IDAT", "IEND", "tRNS", "cHRM", "gAMA", "iCCP", "sBIT", "sRGB", "cICP", "bKGD", "pHYs", "acTL", "fcTL", "fdAT",
}

func stripPNG(data []byte) ([]byte, error) {
	out := slices.Clone(pngSignature)
	rest := data[len(pngSignature):]
	for {
		if len(rest) < 12 {
			return nil, errCut
		}
		length := uint64(binary.BigEndian.Uint32(rest)) + 12
		if length > uint64(len(rest)) {
			return nil, errCut
		}
		chunk := rest[:length]
		rest = rest[length:]
		if crc32.ChecksumIEEE(chunk[4:length-4]) != binary.BigEndian.Uint32(chunk[length-4:]) {
			return nil, errors.New("the picture is damaged")
		}
		name := string(chunk[4:8])
		if slices.Contains(shown, name) {
			out = append(out, chunk...)
		}
		if name == "IEND" {
			return out, nil
		}
	}
}
