package reports

import (
	"bytes"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"pgregory.net/rapid"
)

// read finds a code in a picture, as a camera does, and decodes it by another
// library than the one that drew it.
func read(t testing.TB, picture image.Image) string {
	t.Helper()
	return decoded(t, picture, nil)
}

// readModules decodes a picture that is known to hold a code and nothing else.
// Of 400 pictures of one size the other library does not find two; its decoder
// misses none.
func readModules(t testing.TB, picture image.Image) string {
	t.Helper()
	return decoded(t, picture, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
}

func decoded(t testing.TB, picture image.Image, hints map[gozxing.DecodeHintType]any) string {
	t.Helper()
	bitmap, err := gozxing.NewBinaryBitmapFromImage(picture)
	if err != nil {
		t.Fatal(err)
	}
	result, err := qrcode.NewQRCodeReader().Decode(bitmap, hints)
	if err != nil {
		t.Fatal(err)
	}
	return result.GetText()
}

func pictureOf(t testing.TB, q QR, pixels int) image.Image {
	t.Helper()
	raw, err := q.PNG(pixels)
	if err != nil {
		t.Fatal(err)
	}
	picture, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	return picture
}

// drawnPath fills the boxes of a path as a browser would.
func drawnPath(t testing.TB, q QR, pixels int) image.Image {
	t.Helper()
	side := q.Size() * pixels
	canvas := image.NewGray(image.Rect(0, 0, side, side))
	draw.Draw(canvas, canvas.Bounds(), image.White, image.Point{}, draw.Src)
	boxes := regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`).FindAllStringSubmatch(q.Path(), -1)
	drawn := 0
	for _, b := range boxes {
		n := [5]int{}
		for i := range n {
			n[i], _ = strconv.Atoi(b[min(i, 4)])
		}
		drawn += len(b[0])
		if n[3] != n[4] {
			t.Fatalf("found a box %s that is not closed", b[0])
		}
		draw.Draw(canvas, image.Rect(n[1]*pixels, n[2]*pixels, (n[1]+n[3])*pixels, (n[2]+1)*pixels), image.Black, image.Point{}, draw.Src)
	}
	if drawn != len(q.Path()) {
		t.Fatalf("found more in the path than boxes: %s", q.Path())
	}
	return canvas
}

func TestACodeSaysItsText(t *testing.T) {
	rows := []struct{ rule, text string }{
		{"an item", "circlip:WIP-35"},
		{"a lot", "circlip:OR-1.78x12/3Q24"},
		{"an escaped code", inventory.LabelText("SEA 35/A", "漢 100%")},
		{"capitals and digits alone", "OR-12"},
		{"a GTIN-13", "6291041500213"},
		{"a GTIN-8 with zeros before it", "00000000000017"},
		{"the longest codes that a book holds", inventory.LabelText(strings.Repeat("W", 64), strings.Repeat("漢", 64))},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			q, err := QRCode(r.text)
			if err != nil {
				t.Fatal(err)
			}
			for _, pixels := range []int{3, 8} {
				if got := read(t, pictureOf(t, q, pixels)); got != r.text {
					t.Errorf("the picture of %d pixels a module says %q, expected %q", pixels, got, r.text)
				}
				if got := read(t, drawnPath(t, q, pixels)); got != r.text {
					t.Errorf("the path says %q, expected %q", got, r.text)
				}
			}
		})
	}
}

func TestEveryLabelReadsBackToItsLot(t *testing.T) {
	code := rapid.StringMatching(`[\x21-\x7eäß漢🔩]{1,24}`)
	rapid.Check(t, func(rt *rapid.T) {
		shop := inventory.Shop{Items: []inventory.Item{{Code: code.Draw(rt, "item")}}}
		lot := code.Draw(rt, "lot")
		q, err := QRCode(inventory.LabelText(shop.Items[0].Code, lot))
		if err != nil {
			rt.Fatal(err)
		}
		item, got, err := inventory.ParseScan(readModules(t, pictureOf(t, q, 4)), shop)
		if err != nil || item != shop.Items[0].Code || got != lot {
			rt.Fatalf("found %q, %q, %v, expected %q, %q", item, got, err, shop.Items[0].Code, lot)
		}
	})
}

// What ISO/IEC 18004 asks of every code, apart from what it says.
func TestACodeIsBuiltAsTheStandardSays(t *testing.T) {
	for _, text := range []string{"circlip:WIP-35", "6291041500213", strings.Repeat("a", 300)} {
		q, err := QRCode(text)
		if err != nil {
			t.Fatal(err)
		}
		n := len(q.Modules)
		if n < 21 || (n-21)%4 != 0 || q.Size() != n+8 {
			t.Errorf("%q: found a side of %d modules and %d with the quiet zone, expected 21, 25, 29, … and 8 more", text, n, q.Size())
		}
		if !q.Modules[n-8][8] {
			t.Errorf("%q: the module that is always dark is light", text)
		}
		for i := 8; i < n-8; i++ { // timing patterns
			if q.Modules[6][i] != (i%2 == 0) || q.Modules[i][6] != (i%2 == 0) {
				t.Errorf("%q: module %d of a timing pattern is wrong", text, i)
			}
		}
		finder := []string{"#######", "#.....#", "#.###.#", "#.###.#", "#.###.#", "#.....#", "#######"}
		for _, corner := range [][2]int{{0, 0}, {0, n - 7}, {n - 7, 0}} {
			for y, row := range finder {
				for x, c := range row {
					if q.Modules[corner[0]+y][corner[1]+x] != (c == '#') {
						t.Errorf("%q: the finder pattern at %v is wrong", text, corner)
					}
				}
			}
		}
		picture := pictureOf(t, q, 2)
		for i := range q.Size() * 2 { // the quiet zone is light
			for _, at := range []image.Point{{i, 7}, {7, i}, {i, q.Size()*2 - 8}, {q.Size()*2 - 8, i}} {
				if isBlack(picture.At(at.X, at.Y)) {
					t.Fatalf("%q: found ink in the quiet zone at %v", text, at)
				}
			}
		}
	}
}

// A quarter of a label may be covered with oil.
func TestAStainedCodeIsStillRead(t *testing.T) {
	q, err := QRCode("circlip:OR-1.78x12/3Q24")
	if err != nil {
		t.Fatal(err)
	}
	for y := range q.Modules[9 : len(q.Modules)-9] {
		for x := len(q.Modules) - 5; x < len(q.Modules); x++ {
			q.Modules[9+y][x] = true
		}
	}
	if got := read(t, pictureOf(t, q, 6)); got != q.Text {
		t.Errorf("found %q, expected %q", got, q.Text)
	}
}

func TestATextTooLongForAnyCodeIsTold(t *testing.T) {
	if _, err := QRCode(strings.Repeat("x", 3000)); err == nil || !strings.Contains(err.Error(), "a label of 3000 characters") {
		t.Errorf("found %v", err)
	}
}

func labelShop() inventory.Shop {
	return inventory.Shop{
		AsOf: 20619, Settings: inventory.Settings{Workshop: "north bench", Currency: euro},
		Items: []inventory.Item{
			{Code: "OR-12", Name: "O-ring 12", Bin: "A10", GTIN: "6291041500213"},
			{Code: "WIP-35", Name: "Wiper 35", Bin: "A2"},
			{Code: "twin-a", Bin: "A3", GTIN: "8904000210037"}, {Code: "twin-b", GTIN: "8904000210037"},
			{Code: "wrong", Bin: "B1", GTIN: "8904000210038"},
		},
		Lots: []inventory.Lot{
			{Item: "OR-12", Code: "L-2", Expires: 21000, OnHand: 3}, {Item: "OR-12", Code: "L-1", OnHand: 1}, {Item: "WIP-35", Code: "3Q24/7", Expires: 20900, OnHand: 2},
		},
	}
}

// told is a label in one line.
func told(l Label) string {
	return fmt.Sprintf("%s: %s | %s", l.Code.Text, l.Heading(), strings.Join(l.Words(), ", "))
}

func TestWhatStandsOnLabels(t *testing.T) {
	items, err := ItemLabels(labelShop(), func(inventory.Item) bool { return true })
	if err != nil {
		t.Fatal(err)
	}
	lots, err := LotLabels(labelShop(), func(l inventory.Lot) bool { return l.Code != "L-1" })
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, l := range append(items.Labels, lots.Labels...) {
		got = append(got, told(l))
	}
	want := []string{
		"circlip:WIP-35: Wiper 35 | WIP-35, Bin A2",
		"circlip:twin-a: twin-a | Bin A3",
		"6291041500213: O-ring 12 | OR-12, Bin A10",
		"circlip:wrong: wrong | Bin B1",
		"circlip:twin-b: twin-b | ",
		"circlip:WIP-35/3Q24%2F7: Wiper 35 | WIP-35, Lot 3Q24/7, Use before 2027-03-23, Bin A2",
		"circlip:OR-12/L-2: O-ring 12 | OR-12, Lot L-2, Use before 2027-07-01, Bin A10",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-expected +found)\n%s", diff)
	}
	if items.Workshop != "north bench" || items.On != 20619 {
		t.Errorf("found labels of %s on %s", items.Workshop, items.On)
	}
}

func TestLabelsShowNoMoreThanTheyHaveRoomFor(t *testing.T) {
	l := Label{Item: "a\u202eb", Name: strings.Repeat("long ", 30), Lot: "x\ny", Bin: "\x1b[2J"}
	if n := width(l.Heading()); n > longestName {
		t.Errorf("found a heading of %d columns", n)
	}
	if got := strings.Join(l.Words(), "|"); got != "ab|Lot x y|Bin [2J" {
		t.Errorf("found %q", got)
	}
}
