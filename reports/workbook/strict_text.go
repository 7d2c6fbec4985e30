package workbook

import (
	"bytes"
	"unicode/utf8"
)

// attributes reads ` name="value" name='value' ` into attrs.
func (p *part) attributes(tag []byte) bool {
	p.attrs = p.attrs[:0]
	for {
		rest := skipBlank(tag)
		if len(rest) == 0 {
			return true
		}
		n := nameLen(rest)
		eq := skipBlank(rest[n:])
		if n == 0 || len(rest) == len(tag) || len(eq) == 0 || eq[0] != '=' {
			return p.fail("found %.20q in a tag, expected name=\"value\"", rest)
		}
		quoted := skipBlank(eq[1:])
		if len(quoted) == 0 || quoted[0] != '"' && quoted[0] != '\'' {
			return p.fail("found %.20q in a tag, expected name=\"value\"", rest)
		}
		end := bytes.IndexByte(quoted[1:], quoted[0])
		if end < 0 || !p.attribute(rest[:n], quoted[1:end+1]) {
			return p.fail("found %.20q in a tag, expected name=\"value\"", rest)
		}
		tag = quoted[end+2:]
	}
}

func skipBlank(b []byte) []byte {
	for len(b) > 0 && isBlank(b[0]) {
		b = b[1:]
	}
	return b
}

func trimBlank(b []byte) []byte {
	b = skipBlank(b)
	for len(b) > 0 && isBlank(b[len(b)-1]) {
		b = b[:len(b)-1]
	}
	return b
}

func isBlank(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }

// attribute keeps one attribute, its value decoded.
func (p *part) attribute(name, raw []byte) bool {
	switch {
	case p.attr(string(name)) != nil:
		return p.fail("found the attribute %s twice in one tag", name)
	case len(p.attrs) == tagAttrs:
		return p.fail("found more than %d attributes in a tag", tagAttrs)
	case bytes.IndexByte(raw, '<') >= 0:
		return p.fail("found < in the attribute %s", name)
	case !p.decode(raw):
		return false
	}
	value := p.chars
	if len(p.decoded) > 0 {
		value = bytes.Clone(value) // decoded is used again for the next one
	}
	p.attrs = append(p.attrs, attribute{name, value})
	return true
}

// nameLen is the length of the XML name that b starts with: ASCII letters,
// digits and _ - . with at most one colon inside.
func nameLen(b []byte) int {
	colon := -1
	for i, c := range b {
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c == '_':
		case i > 0 && i != colon+1 && (c >= '0' && c <= '9' || c == '-' || c == '.'):
		case i > 0 && c == ':' && colon < 0:
			colon = i
		default:
			if i == colon+1 {
				return 0 // empty, or a colon at its end
			}
			return i
		}
	}
	if len(b) == colon+1 {
		return 0
	}
	return len(b)
}

// plain are the bytes that stand for themselves in a text.
var plain = func() (t [256]bool) {
	for c := ' '; c < 0x80; c++ {
		t[c] = c != '&' && c != ']'
	}
	t['\t'], t['\n'] = true, true
	return t
}()

// decode checks a text and sets chars to it, with references replaced and
// line ends as \n. Plain text stays where it is.
func (p *part) decode(raw []byte) bool {
	p.decoded = p.decoded[:0]
	i := 0
	for i < len(raw) && plain[raw[i]] {
		i++
	}
	if i == len(raw) {
		p.chars = raw
		return true
	}
	if bytes.Contains(raw, []byte("]]>")) {
		return p.fail("found ]]> in a text")
	}
	out := append(p.decoded, raw[:i]...)
	for i < len(raw) {
		r, n := rune(raw[i]), 1
		switch {
		case r == '&':
			if r, n = reference(raw[i:]); n == 0 {
				return p.fail("found %.12q, expected a character reference", raw[i:])
			}
		case r == '\r':
			r = '\n'
			if i+1 < len(raw) && raw[i+1] == '\n' {
				n = 2
			}
		case r >= utf8.RuneSelf:
			if r, n = utf8.DecodeRune(raw[i:]); r == utf8.RuneError && n == 1 {
				return p.fail("found the byte %#x, which is not UTF-8", raw[i])
			}
		}
		if !allowed(r) {
			return p.fail("found the character %U, which XML does not allow", r)
		}
		out = utf8.AppendRune(out, r)
		i += n
	}
	p.decoded, p.chars = out, out
	return true
}

// allowed is the production Char of XML 1.0.
func allowed(r rune) bool {
	return r == '\t' || r == '\n' || r == '\r' || r >= ' ' && r <= 0xD7FF || r >= 0xE000 && r <= 0xFFFD || r >= 0x10000 && r <= 0x10FFFF
}

// reference reads the character reference that b starts with and its length,
// 0 where it is none.
func reference(b []byte) (rune, int) {
	end := bytes.IndexByte(b[:min(len(b), 12)], ';')
	if end < 2 {
		return 0, 0
	}
	switch name := string(b[1:end]); name {
	case "lt":
		return '<', end + 1
	case "gt":
		return '>', end + 1
	case "amp":
		return '&', end + 1
	case "quot":
		return '"', end + 1
	case "apos":
		return '\'', end + 1
	}
	if b[1] != '#' {
		return 0, 0
	}
	return numeric(b[2:end], end+1)
}

// numeric reads the digits of &#…; or, behind an x, of &#x…;
func numeric(digits []byte, length int) (rune, int) {
	base := rune(10)
	if len(digits) > 0 && digits[0] == 'x' {
		base, digits = 16, digits[1:]
	}
	if len(digits) == 0 {
		return 0, 0
	}
	var r rune
	for _, c := range digits {
		d := hexDigit(c)
		if d < 0 || d >= base {
			return 0, 0
		}
		if r = r*base + d; r > utf8.MaxRune {
			return 0, 0
		}
	}
	return r, length
}

func hexDigit(c byte) rune {
	switch {
	case c >= '0' && c <= '9':
		return rune(c - '0')
	case c >= 'a' && c <= 'f':
		return rune(c-'a') + 10
	case c >= 'A' && c <= 'F':
		return rune(c-'A') + 10
	}
	return -1
}
