package workbook

import (
	"circlip/inventory/book"

	"bytes"
	"fmt"
	"unicode/utf16"
	"unicode/utf8"
)

// readTexts reads the part of the texts that the sheets share. They are the
// one thing held in memory whole, so they are counted and weighed.
func readTexts(p *part, lim limits) ([]string, error) {
	if !p.root("sst", mainNamespace, strictNamespace) {
		return nil, p.err
	}
	var pool pool
	for name, ok := p.child(); ok; name, ok = p.child() {
		switch {
		case string(name) == "extLst":
			p.skip()
		case string(name) != "si":
			p.fail("found <%s> among the texts", name)
		case pool.count() == lim.texts:
			p.reject("found more than %d texts that sheets share", lim.texts)
		default:
			pool.add(p.appendRich)
			if pool.bytes > lim.textBytes {
				p.reject("found texts of more than %d MiB together", lim.textBytes>>20)
			}
		}
	}
	if err := p.finish(); err != nil {
		return nil, fmt.Errorf("shared text number %d: %w", pool.count(), err)
	}
	return pool.texts(), nil
}

// pool gathers texts in blocks, so that a million short ones cost little more
// than their bytes.
type pool struct {
	done  []string
	block []byte
	ends  []int // of the texts in the block
	bytes int
}

const blockBytes = 64 << 10

func (p *pool) count() int { return len(p.done) + len(p.ends) }

func (p *pool) add(read func([]byte) []byte) {
	before := len(p.block)
	p.block = read(p.block)
	p.bytes += len(p.block) - before
	p.ends = append(p.ends, len(p.block))
	if len(p.block) >= blockBytes {
		p.seal()
	}
}

func (p *pool) seal() {
	text, start := string(p.block), 0
	for _, end := range p.ends {
		p.done = append(p.done, text[start:end])
		start = end
	}
	p.block, p.ends = p.block[:0], p.ends[:0]
}

func (p *pool) texts() []string {
	p.seal()
	return p.done
}

// Of a text longer than a cell may hold, just enough is kept to show that it
// is too long where a cell uses it. A UTF-16 unit takes at most three bytes.
const tooLongText = 3*book.MaxCell + 1

// appendRich appends the text of the current element, an <is> or <si>, and
// leaves it. The runs of a rich text are joined; phonetic runs, which repeat
// the text in another script, are left out.
func (p *part) appendRich(to []byte) []byte {
	start := len(to)
	for name, ok := p.child(); ok; name, ok = p.child() {
		switch string(name) {
		case "t":
			to = p.appendText(to)
		case "r":
			to = p.appendRun(to)
		case "rPh", "phoneticPr":
			p.skip()
		default:
			p.fail("found <%s> in a text", name)
		}
		to = to[:min(len(to), start+tooLongText)]
	}
	return to
}

func (p *part) appendRun(to []byte) []byte {
	for name, ok := p.child(); ok; name, ok = p.child() {
		switch string(name) {
		case "t":
			to = p.appendText(to)
		case "rPr":
			p.skip()
		default:
			p.fail("found <%s> in a run of a text", name)
		}
	}
	return to
}

func (p *part) appendText(to []byte) []byte {
	preserve := p.preserves()
	return append(to, p.unescape(p.text(), preserve)...)
}

// unescape turns a stored text into what a person sees: blanks at its ends
// count only under xml:space="preserve" (as spreadsheet programs do it; from
// memory), and _xHHHH_ stands for a UTF-16 unit (ISO/IEC 29500-1, 22.9.2.19).
// It works in place.
func (p *part) unescape(text []byte, preserve bool) []byte {
	if !preserve {
		text = trimBlank(text)
	}
	at := bytes.Index(text, []byte("_x"))
	if at < 0 {
		return text
	}
	out := text[:at]
	for rest := text[at:]; len(rest) > 0; {
		r, n := escaped(rest)
		switch {
		case n == 0:
			out, rest = append(out, rest[0]), rest[1:]
			continue
		case utf16.IsSurrogate(r):
			low, m := escaped(rest[n:])
			if r, n = utf16.DecodeRune(r, low), n+m; r == utf8.RuneError {
				p.fail("found half of a character, %.16q", rest)
				return nil
			}
		}
		out, rest = utf8.AppendRune(out, r), rest[n:]
	}
	return out
}

// escaped reads the _xHHHH_ that b starts with and its length, 0 where it is
// none.
func escaped(b []byte) (r rune, length int) {
	if len(b) < 7 || b[0] != '_' || b[1] != 'x' || b[6] != '_' {
		return 0, 0
	}
	for _, c := range b[2:6] {
		d := hexDigit(c)
		if d < 0 {
			return 0, 0
		}
		r = r<<4 + d
	}
	return r, 7
}
