package photo

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func drawn() image.Image {
	m := image.NewRGBA(image.Rect(0, 0, 24, 16))
	for x := range 24 {
		for y := range 16 {
			m.Set(x, y, color.RGBA{uint8(10 * x), uint8(15 * y), 99, 255})
		}
	}
	return m
}

func segment(mark byte, body string) []byte {
	s := binary.BigEndian.AppendUint16([]byte{0xff, mark}, uint16(len(body)+2))
	return append(s, body...)
}

// exif is an Exif segment with an orientation and a place.
func exif(order binary.ByteOrder, orientation uint16) []byte {
	tiff := []byte("MM\x00*\x00\x00\x00\x08")
	if order == binary.LittleEndian {
		tiff = []byte("II*\x00\x08\x00\x00\x00")
	}
	app := order.(binary.AppendByteOrder)
	tiff = app.AppendUint16(tiff, 2)
	tiff = app.AppendUint32(app.AppendUint16(app.AppendUint16(tiff, tagOrientation), 3), 1)
	tiff = app.AppendUint16(app.AppendUint16(tiff, orientation), 0)
	tiff = app.AppendUint32(app.AppendUint16(app.AppendUint16(tiff, 0x8825), 4), 1) // pointer to the place
	tiff = app.AppendUint32(tiff, 38)
	return segment(markAPP1, "Exif\x00\x00"+string(tiff)+"54 N 10 E harbour quay 3")
}

func camera(t *testing.T, segments ...[]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, drawn(), nil); err != nil {
		t.Fatal(err)
	}
	data := append([]byte{}, b.Bytes()[:2]...)
	for _, s := range segments {
		data = append(data, s...)
	}
	return append(append(data, b.Bytes()[2:]...), "harbour quay 3, appended"...)
}

// same holds that two pictures show the same.
func same(t *testing.T, a, b []byte) {
	t.Helper()
	one, _, err := image.Decode(bytes.NewReader(a))
	if err != nil {
		t.Fatal(err)
	}
	two, _, err := image.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	for x := range 24 {
		for y := range 16 {
			if one.At(x, y) != two.At(x, y) {
				t.Fatalf("the pictures differ at %d, %d", x, y)
			}
		}
	}
}

func TestPlaceAndOwnerGo(t *testing.T) {
	for name, segments := range map[string][][]byte{
		"nothing":          nil,
		"Exif":             {exif(binary.BigEndian, 6)},
		"Exif, reversed":   {exif(binary.LittleEndian, 6)},
		"XMP":              {segment(markAPP1, "http://ns.example/xap/\x00harbour quay 3")},
		"IPTC":             {segment(0xed, "IPTC\x00harbour quay 3")},
		"a remark":         {segment(markCOM, "harbour quay 3")},
		"a second picture": {segment(markAPP2, "MPF\x00harbour quay 3")},
		"everything":       {exif(binary.BigEndian, 3), segment(markCOM, "harbour quay 3"), segment(0xed, "harbour quay 3")},
	} {
		t.Run(name, func(t *testing.T) {
			was := camera(t, segments...)
			got, err := Strip(was)
			if err != nil {
				t.Fatal(err)
			}
			if bytes.Contains(got, []byte("harbour quay")) {
				t.Errorf("the place is still there: %q", got[:min(len(got), 200)])
			}
			same(t, was, got)
			again, err := Strip(got)
			if err != nil || !bytes.Equal(again, got) {
				t.Errorf("what was stripped changes when stripped again: %v", err)
			}
		})
	}
}

func TestOrientationStays(t *testing.T) {
	for _, order := range []binary.ByteOrder{binary.BigEndian, binary.LittleEndian} {
		got, err := Strip(camera(t, exif(order, 6)))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Contains(got, exifOf(6)) {
			t.Errorf("%v: the picture lies on its side", order)
		}
		if got, err = Strip(camera(t, exif(order, 1))); err != nil || bytes.Contains(got, []byte("Exif")) {
			t.Errorf("%v: an upright picture needs no orientation: %v", order, err)
		}
	}
	if kept := orientationAlone(exifOf(8)); !bytes.Equal(kept, exifOf(8)) {
		t.Errorf("what is written does not read: %x", kept)
	}
}

func chunk(name, body string) []byte {
	c := append(binary.BigEndian.AppendUint32(nil, uint32(len(body))), name+body...)
	return binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
}

func TestPNG(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, drawn()); err != nil {
		t.Fatal(err)
	}
	header := len(pngSignature) + 25
	was := bytes.Join([][]byte{
		b.Bytes()[:header], chunk("tEXt", "Comment\x00harbour quay 3"), chunk("eXIf", "harbour quay 3"), chunk("pHYs", "\x00\x00\x0b\x13\x00\x00\x0b\x13\x01"),
		b.Bytes()[header:], []byte("harbour quay 3"),
	}, nil)
	got, err := Strip(was)
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(got, []byte("harbour")) || !bytes.Contains(got, []byte("pHYs")) {
		t.Errorf("kept %q", got)
	}
	same(t, was, got)
	was[header+10] ^= 1
	if _, err := Strip(was); err == nil || !strings.Contains(err.Error(), "damaged") {
		t.Errorf("a damaged picture: %v", err)
	}
}

func TestWhatIsNotTaken(t *testing.T) {
	whole := camera(t, exif(binary.BigEndian, 6))
	for _, data := range [][]byte{nil, {}, []byte("GIF89a"), []byte("\x00\x00\x00\x18ftypheic"), []byte("%PDF-1.7"), {0xff, 0xd8, 0xff}, whole[:40], whole[:len(whole)/2], pngSignature} {
		if got, err := Strip(data); err == nil {
			t.Errorf("%.20q is taken as %d bytes", data, len(got))
		}
	}
}

func TestTake(t *testing.T) {
	folder := t.TempDir()
	write := func(name string, data []byte, age time.Duration) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, time.Time{}, time.Now().Add(-age)); err != nil {
			t.Fatal(err)
		}
		return path
	}
	write("old.jpg", camera(t), time.Hour)
	write("lines.JPG", camera(t, exif(binary.BigEndian, 6)), time.Minute)
	notes := write("notes.txt", []byte("newer"), time.Second)
	if err := os.Mkdir(filepath.Join(folder, "z.png"), 0o700); err != nil {
		t.Fatal(err)
	}
	p, err := Take("", folder)
	if err != nil || p.File != "lines.JPG" || bytes.Contains(p.Data, []byte("harbour")) {
		t.Errorf("took %q, %v", p.File, err)
	}
	if p, err = Take(filepath.Join(folder, "old.jpg"), ""); err != nil || p.File != "old.jpg" {
		t.Errorf("took %q, %v", p.File, err)
	}
	for path, inbox := range map[string]string{"": "", notes: folder, folder: "", filepath.Join(folder, "none.jpg"): ""} {
		if p, err := Take(path, inbox); err == nil {
			t.Errorf("%q, %q: took %q", path, inbox, p.File)
		}
	}
	if _, err := Take("", t.TempDir()); err == nil || !strings.Contains(err.Error(), "no photo in") {
		t.Errorf("an empty inbox: %v", err)
	}
}

func FuzzStrip(f *testing.F) {
	f.Add([]byte("\xff\xd8\xff\xe1\x00\x10Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01"))
	f.Add(exifOf(6))
	f.Add(append(pngSignature[:8:8], chunk("IHDR", "")...))
	var b bytes.Buffer
	if err := jpeg.Encode(&b, drawn(), nil); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) {
		got, err := Strip(data)
		if err != nil {
			return
		}
		again, err := Strip(got)
		if err != nil || !bytes.Equal(again, got) {
			t.Fatalf("%x becomes %x, and that %x, %v", data, got, again, err)
		}
	})
}
