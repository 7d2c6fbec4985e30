package book

import "circlip/inventory"

const gtinExpected = "the 8, 12, 13 or 14 digits under the bar code"

// gtinLength: GTIN-8, GTIN-12 (UPC), GTIN-13 (EAN) and GTIN-14.
func gtinLength(n int) bool { return n == 8 || n == 12 || n == 13 || n == 14 }

// gtin checks a Global Trade Item Number: its last digit brings the sum of the
// digits, weighted 3, 1, 3, … from the right of the others, to a multiple of
// ten (GS1 General Specifications, check digit of data structures).
func gtin(text string) *flaw {
	if !digits(text) || !gtinLength(len(text)) {
		return &flaw{"not a bar code number", gtinExpected}
	}
	body, last := text[:len(text)-1], text[len(text)-1]
	if check := inventory.CheckDigit(body); check != last {
		return &flaw{"wrong check digit " + string(last), "the last digit to be " + string(check) + ", or the others to be corrected"}
	}
	return nil
}
