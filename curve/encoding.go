package curve

import (
	"bytes"
	"fmt"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// sniffed is how many bytes are looked at where the start of a source decides.
const sniffed = 64 << 10

// decode returns text as UTF-8, and the name of the encoding it was in. Bytes
// that are not valid in Unicode are read as Windows-1252, the one eight-bit
// encoding that spreadsheets still write.
func decode(raw []byte) (text, name string, err error) {
	var dec *encoding.Decoder
	switch {
	case bytes.HasPrefix(raw, []byte{0xEF, 0xBB, 0xBF}) && utf8.Valid(raw):
		return string(raw[3:]), "UTF-8 with byte order mark", nil
	case bytes.HasPrefix(raw, []byte{0xFF, 0xFE}):
		name, dec = "UTF-16LE", unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder()
	case bytes.HasPrefix(raw, []byte{0xFE, 0xFF}):
		name, dec = "UTF-16BE", unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder()
	case zerosAt(raw, 1):
		name, dec = "UTF-16LE", unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM).NewDecoder()
	case zerosAt(raw, 0):
		name, dec = "UTF-16BE", unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewDecoder()
	case utf8.Valid(raw):
		return string(raw), "UTF-8", nil
	default:
		name, dec = "Windows-1252", charmap.Windows1252.NewDecoder()
	}
	out, _, err := transform.Bytes(dec, raw)
	if err != nil {
		return "", "", fmt.Errorf("decoding %s: %w", name, err)
	}
	return string(out), name, nil
}

// zerosAt reports UTF-16 without a byte order mark: of the bytes at even
// (parity 0) or odd (1) places most are zero, and of the others none.
func zerosAt(raw []byte, parity int) bool {
	raw = raw[:min(len(raw), sniffed)]
	var zeros, others int
	for i, b := range raw {
		if b == 0 && i%2 == parity {
			zeros++
		} else if b == 0 {
			others++
		}
	}
	return len(raw) >= 4 && others == 0 && zeros > len(raw)/4
}

// binary reports text that no person and no spreadsheet writes: a NUL, or
// more than one control character in ten.
func binary(text string) bool {
	var control, all int
	for _, c := range text[:min(len(text), sniffed)] {
		all++
		switch {
		case c == 0:
			return true
		case c < ' ' && c != '\t' && c != '\n' && c != '\r' && c != '\f':
			control++
		}
	}
	return control*10 > all
}

// magics are the first bytes of files that are often handed over by mistake.
var magics = []struct{ start, advice string }{
	{"\xD0\xCF\x11\xE0", "an older workbook (.xls) or one with a password: save it as .xlsx without one, or as CSV"},
	{"%PDF", "a PDF: copy the table out of it, or save it as CSV"},
	{"\x1F\x8B", "compressed with gzip: unpack it first"},
	{"\x89PNG", "a picture"},
	{"\xFF\xD8\xFF", "a picture"},
	{"{\\rtf", "a word processor's text: save the table as CSV"},
}

// foreign returns advice on a file of a kind that holds no readings, or "".
func foreign(raw []byte) string {
	for _, m := range magics {
		if bytes.HasPrefix(raw, []byte(m.start)) {
			return m.advice
		}
	}
	return ""
}
