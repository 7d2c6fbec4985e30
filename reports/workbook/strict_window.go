package workbook

import (
	"bytes"
	"fmt"
	"io"
)

// fail keeps the first failure and where it was met. It returns false.
func (p *part) fail(format string, args ...any) bool {
	if p.err == nil {
		p.err = fmt.Errorf("%w: %s, at byte %d of the part", errDamaged, fmt.Sprintf(format, args...), p.before+int64(p.pos))
	}
	return false
}

// reject keeps, as the first failure, what is whole but more than we take.
func (p *part) reject(format string, args ...any) bool {
	if p.err == nil {
		p.err = fmt.Errorf(format, args...)
	}
	return false
}

// index is the distance from pos to the next c, -1 where the part ends first.
func (p *part) index(c byte) int {
	for from := 0; ; {
		if n := bytes.IndexByte(p.buf[p.pos+from:p.end], c); n >= 0 {
			return from + n
		}
		from = p.end - p.pos
		if !p.more() {
			return -1
		}
	}
}

// tagEnd is the distance from the < at pos to its >, which may not lie in a
// quoted value.
func (p *part) tagEnd() int {
	var quote byte
	for i := 1; ; {
		for ; p.pos+i < p.end; i++ {
			switch c := p.buf[p.pos+i]; {
			case quote != 0 && c == quote:
				quote = 0
			case quote != 0:
			case c == '>':
				return i
			case c == '"' || c == '\'':
				quote = c
			case c == '<':
				p.fail("found < inside a tag")
				return -1
			}
		}
		if !p.more() {
			return -1
		}
	}
}

// until is the distance from pos to behind the end mark, looked for from the
// offset on.
func (p *part) until(mark string, offset int) int {
	for {
		if p.pos+offset <= p.end {
			if n := bytes.Index(p.buf[p.pos+offset:p.end], []byte(mark)); n >= 0 {
				return offset + n + len(mark)
			}
		}
		if !p.more() {
			p.fail("found no %s", mark)
			return -1
		}
	}
}

func (p *part) starts(mark string) bool {
	return p.has(len(mark)) && string(p.buf[p.pos:p.pos+len(mark)]) == mark
}

// has makes sure that n bytes lie in the window.
func (p *part) has(n int) bool {
	for p.end-p.pos < n {
		if !p.more() {
			return false
		}
	}
	return true
}

// more reads on into the window, which grows only where one token fills it.
func (p *part) more() bool {
	if p.err != nil || p.readErr != nil {
		return false
	}
	if p.pos > 0 {
		p.before += int64(p.pos)
		copy(p.buf, p.buf[p.pos:p.end])
		p.pos, p.end = 0, p.end-p.pos
	}
	if p.end == len(p.buf) {
		if len(p.buf) >= tokenBytes {
			return p.fail("found a text or tag of more than %d bytes", tokenBytes)
		}
		p.buf = append(p.buf, make([]byte, len(p.buf))...)
	}
	n, err := p.r.Read(p.buf[p.end:])
	p.end += n
	switch {
	case err == io.EOF:
		p.readErr = err
	case err != nil:
		p.err = fmt.Errorf("the part cannot be unpacked: %w", err)
	}
	return n > 0 || err == nil
}

// declaration passes over a byte order mark and <?xml …?>, and refuses any
// encoding but UTF-8.
func (p *part) declaration() bool {
	p.has(4)
	head := p.buf[p.pos:p.end]
	switch {
	case bytes.HasPrefix(head, []byte{0xFE, 0xFF}), bytes.HasPrefix(head, []byte{0xFF, 0xFE}),
		len(head) > 1 && head[0] == 0, len(head) > 1 && head[1] == 0:
		return p.fail("found the encoding UTF-16, expected UTF-8")
	case bytes.HasPrefix(head, []byte("\uFEFF")):
		p.pos += 3
	}
	if !p.starts("<?xml") {
		return p.err == nil
	}
	n := p.until("?>", 5)
	if n < 0 {
		return false
	}
	if !p.attributes(p.buf[p.pos+5 : p.pos+n-2]) {
		return false
	}
	if enc := p.attr("encoding"); enc != nil && !bytes.EqualFold(enc, []byte("utf-8")) {
		return p.fail("found the encoding %.40q, expected UTF-8", enc)
	}
	if version := p.attr("version"); string(version) != "1.0" {
		return p.fail("found XML version %.10q, expected 1.0", version)
	}
	p.pos += n
	return true
}
