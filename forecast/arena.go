package forecast

// arena hands out zeroed slices that live until the next reset. Walking one
// unit takes some hundreds of short-lived tables; they all come from here.
type arena struct {
	chunks [][]float64
	chunk  int // the one in use
	used   int // of it
}

const arenaChunk = 1 << 16

func (a *arena) reset() { a.chunk, a.used = 0, 0 }

// floats is a slice of n zeros.
func (a *arena) floats(n int) []float64 {
	if n > arenaChunk {
		return make([]float64, n)
	}
	if a.chunk < len(a.chunks) && a.used+n > arenaChunk {
		a.chunk, a.used = a.chunk+1, 0
	}
	if a.chunk == len(a.chunks) {
		a.chunks = append(a.chunks, make([]float64, arenaChunk))
	}
	out := a.chunks[a.chunk][a.used : a.used+n : a.used+n]
	a.used += n
	clear(out)
	return out
}
