//go:build unix

package local

import (
	"errors"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"
)

// First use: cluster made, server started, database made. On the disk, as users have it.
func BenchmarkFirstStart(b *testing.B) {
	dir := openDirIn(b, "")
	var times []time.Duration
	for b.Loop() {
		home := filepath.Join(dir, strconv.Itoa(len(times)))
		var s *Server
		var err error
		timed(&times, func() { s, err = Open(b.Context(), home) })
		must(b, err)
		must(b, s.Close())
	}
	report(b, "", times)
}

// Every later use by a command that finds no server running, and its end.
func BenchmarkWarmStart(b *testing.B) {
	home := filepath.Join(openDirIn(b, ""), "home")
	must(b, opened(b, home).Close())
	var starts, stops []time.Duration
	for b.Loop() {
		var s *Server
		var err error
		timed(&starts, func() { s, err = Open(b.Context(), home) })
		must(b, err)
		timed(&stops, func() { err = s.Close() })
		must(b, err)
	}
	report(b, "", starts)
	report(b, "stop-", stops)
}

// The start after kill -9 of the server.
func BenchmarkRecovery(b *testing.B) {
	home := filepath.Join(openDirIn(b, ""), "home")
	var times []time.Duration
	for b.Loop() {
		killed := opened(b, home)
		killServer(b, home)
		var s *Server
		var err error
		timed(&times, func() { s, err = Open(b.Context(), home) })
		must(b, err)
		must(b, errors.Join(killed.Close(), s.Close()))
	}
	report(b, "", times)
}

// A use beside others.
func BenchmarkJoin(b *testing.B) {
	home := filepath.Join(openDirIn(b, ""), "home")
	opened(b, home)
	var times []time.Duration
	for b.Loop() {
		var s *Server
		var err error
		timed(&times, func() { s, err = Open(b.Context(), home) })
		must(b, err)
		must(b, s.Close())
	}
	report(b, "", times)
}

// timed measures the work alone.
func timed(all *[]time.Duration, work func()) {
	began := time.Now()
	work()
	*all = append(*all, time.Since(began))
}

// report gives the median, which an unquiet disk disturbs less than the mean, and the worst.
func report(b *testing.B, what string, times []time.Duration) {
	b.Helper()
	slices.Sort(times)
	b.ReportMetric(float64(times[len(times)/2].Microseconds())/1000, what+"median-ms")
	b.ReportMetric(float64(times[len(times)-1].Microseconds())/1000, what+"max-ms")
}
