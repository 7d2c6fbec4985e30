package reports

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"strings"

	// Of the modules that draw codes this one alone holds to all of ISO/IEC 18004
	// that a label needs: it weighs the eight masks against each other, where
	// rsc.io/qr always takes the first and skip2/go-qrcode has had no release. MIT
	// licence, no dependencies.
	"github.com/boombuler/barcode/qr"
)

// QR is a QR Code of ISO/IEC 18004: a square of dark and light modules that says
// a text.
type QR struct {
	Text    string
	Modules [][]bool // rows from the top, true where dark, without the quiet zone
}

// quietZone is how many light modules must surround a code.
const quietZone = 4

// QRCode draws a text of plain ASCII. A quarter of the code may be lost (level
// Q): labels at a bench get oily. The error is of a text that is too long for
// any code.
func QRCode(text string) (QR, error) {
	drawn, err := qr.Encode(text, qr.Q, qr.Auto)
	if err != nil {
		return QR{}, fmt.Errorf("a label of %d characters: %w", len(text), err)
	}
	size := drawn.Bounds().Dx()
	q := QR{text, make([][]bool, size)}
	for y := range size {
		q.Modules[y] = make([]bool, size)
		for x := range size {
			q.Modules[y][x] = isBlack(drawn.At(x, y))
		}
	}
	return q, nil
}

func isBlack(c color.Color) bool {
	r, g, b, _ := c.RGBA()
	return r+g+b == 0
}

// Size is how many modules a side is long, the quiet zone included.
func (q QR) Size() int { return len(q.Modules) + 2*quietZone }

// PNG is the code as a picture of so many pixels a module, quiet zone included.
func (q QR) PNG(pixels int) ([]byte, error) {
	side := q.Size() * pixels
	picture := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	for y, row := range q.Modules {
		for x, dark := range row {
			for n := range pixels * pixels * truth(dark) {
				picture.SetColorIndex((x+quietZone)*pixels+n%pixels, (y+quietZone)*pixels+n/pixels, 1)
			}
		}
	}
	var out bytes.Buffer
	err := png.Encode(&out, picture)
	return out.Bytes(), err
}

// Path is the code as the path of an SVG whose view box is Size modules wide
// and high: one box for each run of dark modules of a row.
func (q QR) Path() string {
	var path strings.Builder
	for y, row := range q.Modules {
		for x := 0; x < len(row); x++ {
			run := 0
			for x+run < len(row) && row[x+run] {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+quietZone, y+quietZone, run, run)
			}
			x += run
		}
	}
	return path.String()
}
