package main

import (
	"bytes"
	"context"
	"testing"
)

func BenchmarkZZ(b *testing.B) {
	for b.Loop() {
		var out, err bytes.Buffer
		if s := run(context.Background(), []string{"plan", "--home", "/tmp/bighome", "--as-of", "2026-06-15"}, &out, &err); s != 0 {
			b.Fatal(err.String())
		}
	}
}
