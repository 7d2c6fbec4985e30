package workbook

import (
	"bytes"
	"fmt"
	"image/png"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports"
	"circlip/testdata/golden/plans"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/xuri/excelize/v2"
)

// manyLots is a shop of so many lots of one item.
func manyLots(n int) inventory.Shop {
	shop := inventory.Shop{
		AsOf: plans.AsOf, Settings: inventory.Settings{Workshop: "Larchfell Bike Park"},
		Items: []inventory.Item{{Code: "WIP-35", Name: "=Wiper 35 & <seal>", Bin: "A2"}},
	}
	for i := range n {
		shop.Lots = append(shop.Lots, inventory.Lot{Item: "WIP-35", Code: fmt.Sprintf("L/%03d", i), Expires: plans.AsOf + inventory.Date(i)*30, OnHand: 1})
	}
	return shop
}

func lotLabels(t testing.TB, n int) (inventory.Shop, []byte) {
	t.Helper()
	shop := manyLots(n)
	labels, err := reports.LotLabels(shop, func(inventory.Lot) bool { return true })
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := EncodeLabels(&out, labels); err != nil {
		t.Fatal(err)
	}
	return shop, out.Bytes()
}

// Every picture in the workbook is read back to the lot whose words stand
// beside it.
func TestLabelsInAWorkbookAreRead(t *testing.T) {
	shop, workbook := lotLabels(t, 8)
	f := reorderFile(t, workbook)
	if tabs := f.GetSheetList(); len(tabs) != 1 || tabs[0] != labelsTab {
		t.Fatalf("found the tabs %v", tabs)
	}
	for n, lot := range shop.Lots {
		code, _ := excelize.CoordinatesToCellName(2*(n%3)+1, n/3+1)
		words, _ := excelize.CoordinatesToCellName(2*(n%3)+2, n/3+1)
		pictures, err := f.GetPictures(labelsTab, code)
		if err != nil || len(pictures) != 1 {
			t.Fatalf("%s: found %d pictures, %v", code, len(pictures), err)
		}
		picture, err := png.Decode(bytes.NewReader(pictures[0].File))
		if err != nil {
			t.Fatal(err)
		}
		bitmap, err := gozxing.NewBinaryBitmapFromImage(picture)
		if err != nil {
			t.Fatal(err)
		}
		read, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
		if err != nil {
			t.Fatal(code, err)
		}
		item, of, err := inventory.ParseScan(read.GetText(), shop)
		if err != nil || item != "WIP-35" || of != lot.Code {
			t.Errorf("%s: found %q, %q, %v, expected lot %s", code, item, of, err, lot.Code)
		}
		text, err := f.GetCellValue(labelsTab, words)
		if want := "=Wiper 35 & <seal>\nWIP-35\nLot " + lot.Code + "\nUse before " + lot.Expires.String() + "\nBin A2"; err != nil || text != want {
			t.Errorf("%s: found %q, %v, expected %q", words, text, err, want)
		}
		if formula, _ := f.GetCellFormula(labelsTab, words); formula != "" {
			t.Errorf("%s: found the formula %q", words, formula)
		}
		if alt := pictures[0].Format.AltText; !strings.HasSuffix(alt, read.GetText()) {
			t.Errorf("%s: found the description %q", code, alt)
		}
	}
}

func TestTheSameLabelsGiveTheSameBytes(t *testing.T) {
	_, first := lotLabels(t, 5)
	for range 5 {
		if _, again := lotLabels(t, 5); !bytes.Equal(first, again) {
			t.Fatal("found other bytes for the same labels")
		}
	}
}

func TestNoLabelsAreSaid(t *testing.T) {
	_, workbook := lotLabels(t, 0)
	if got, err := reorderFile(t, workbook).GetCellValue(labelsTab, "A1"); err != nil || got != "There is no label to print." {
		t.Errorf("found %q, %v", got, err)
	}
}

func BenchmarkLabels(b *testing.B) {
	shop := manyLots(1000)
	for b.Loop() {
		labels, err := reports.LotLabels(shop, func(inventory.Lot) bool { return true })
		if err != nil {
			b.Fatal(err)
		}
		if err := EncodeLabels(&bytes.Buffer{}, labels); err != nil {
			b.Fatal(err)
		}
	}
}
