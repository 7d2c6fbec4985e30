package book

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"github.com/go-playground/validator/v10"
)

// validate holds the validator's own checks (ISO 4217, time zones, clocks,
// bounds of numbers) and three of ours.
var validate = newValidator()

// newValidator registers the checks that the validator lacks; the rest of its
// many rules are used by name, in codeTags, in parse functions and in Tables.
func newValidator() *validator.Validate {
	v := validator.New()
	for tag, fine := range map[string]func(text string) bool{
		"unpadded": func(text string) bool { return strings.TrimSpace(text) == text },
		"printing": func(text string) bool { return strings.IndexFunc(text, unprintable) < 0 },
		"textual":  func(text string) bool { return strings.IndexFunc(text, untextual) < 0 },
	} {
		err := v.RegisterValidation(tag, func(level validator.FieldLevel) bool { return fine(level.Field().String()) })
		if err != nil {
			panic("book: " + err.Error()) // a mistake in the tags above
		}
	}
	return v
}

// unprintable characters of a code cannot be seen, so that two codes would
// look alike.
func unprintable(r rune) bool { return !unicode.IsPrint(r) }

// untextual characters cannot stand in a database's text or in a spreadsheet:
// controls other than TAB and LF, and the two non-characters that XML bars.
func untextual(r rune) bool {
	return (unicode.IsControl(r) && r != '\t' && r != '\n') || r == '\uFFFE' || r == '\uFFFF'
}

// codeTags are the rules of a code, in the validator's words.
var codeTags = fmt.Sprintf("max=%d,unpadded,printing,excludes=;", MaxCode)

// flaws translates the validator's tags.
var flaws = map[string]flaw{
	"max":      {fmt.Sprintf("longer than %d characters", MaxCode), fmt.Sprintf("a code of at most %d characters", MaxCode)},
	"unpadded": {"begins or ends with a blank", "the code without it"},
	"printing": {"holds a character that does not print", "letters, digits and signs"},
	"textual":  {"holds a control character", "text"},
	"excludes": {"holds a ;", "one code"},
	"datetime": {"not a time of day", "HH:MM, from 00:00 to 23:59"},
	"iso4217":  {"not a currency", "a code of ISO 4217 such as EUR"},
	"timezone": {"not a time zone", "a name of the IANA database such as Europe/Vienna"},
}

// checkText runs the validator's rules over a text.
func checkText(text, rules string) *flaw {
	if found, ok := flaws[failing(text, rules)]; ok {
		return &found
	}
	return nil
}

// failing is the tag of the first rule that the value breaks, or "".
func failing(value any, rules string) string {
	var broken validator.ValidationErrors
	if err := validate.Var(value, rules); errors.As(err, &broken) {
		return broken[0].Tag()
	}
	return ""
}

// inBounds runs the column's rule over a number.
func (f *field) inBounds(number any) *flaw {
	if f.Rule != "" && failing(number, f.Rule) != "" {
		return &flaw{"out of range", f.expected}
	}
	return nil
}

// Bounds is the least and the most that a column of numbers takes, infinite
// where there is no bound; above: the least itself is not allowed.
func (c Column) Bounds() (least, most float64, above bool) {
	least, most = math.Inf(-1), math.Inf(1)
	if c.Kind == Quantity || c.Kind == Money || c.Kind == UnitCost {
		least = 0
	}
	for rule := range strings.SplitSeq(c.Rule, ",") {
		word, number, _ := strings.Cut(rule, "=")
		bound, err := strconv.ParseFloat(number, 64)
		if err != nil {
			continue // no rule at all
		}
		switch word {
		case "gte":
			least = bound
		case "gt":
			least, above = bound, true
		case "lte":
			most = bound
		}
	}
	return least, most, above
}

// expectation says what the column's cells should hold.
func (c Column) expectation() string {
	switch c.Kind {
	case Text:
		return "a text"
	case Code, Material:
		return "a code"
	case Codes:
		return "codes with ; between them"
	case Integer:
		return "a whole number" + c.bounds()
	case Decimal:
		return "a number with a decimal point" + c.bounds()
	case Quantity:
		return "a quantity" + c.bounds() + " with a decimal point"
	case Money, UnitCost:
		return "an amount" + c.bounds() + " with a decimal point"
	case YesNo:
		return "yes or no"
	case Date:
		return "YYYY-MM-DD"
	case CureMark:
		return "YYYY-MM-DD, or a quarter such as 3Q24"
	case Weekday, Choice:
		return "one of " + strings.Join(c.OneOf, ", ")
	case Clock:
		return flaws["datetime"].expected
	case GTIN:
		return gtinExpected
	case Currency:
		return flaws["iso4217"].expected
	case TimeZone:
		return flaws["timezone"].expected
	}
	return ""
}

// bounds is the words for Column.Bounds, to stand after "a number".
func (c Column) bounds() string {
	least, most, above := c.Bounds()
	from := formatFloat(least)
	switch {
	case math.IsInf(least, -1):
		return ""
	case above && math.IsInf(most, 1):
		return " above " + from
	case above:
		return " above " + from + " and at most " + formatFloat(most)
	case math.IsInf(most, 1):
		return " of " + from + " or more"
	}
	return " from " + from + " to " + formatFloat(most)
}
