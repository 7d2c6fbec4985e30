package series

// SES is simple exponential smoothing, started at the first observation: the
// forecast of every coming period. 0 where there is none.
func SES(y []float64, alpha float64) float64 { return last(sesPath(y, alpha)) }

// Croston is the forecast of Croston, Forecasting and stock control for
// intermittent demands, Operational Research Quarterly 23 (1972): sizes and
// intervals between demands are smoothed apart, each started at its first
// observation, the first interval counted from before the first period.
func Croston(y []float64, alpha float64) float64 { return last(crostonPath(y, alpha)) }

// SBA is Croston's forecast less its bias, by Syntetos & Boylan, The accuracy
// of intermittent demand estimates, International Journal of Forecasting 21
// (2005).
func SBA(y []float64, alpha float64) float64 { return (1 - alpha/2) * Croston(y, alpha) }

// TSB is the forecast of Teunter, Syntetos & Babai, Intermittent demand:
// linking forecasting to inventory obsolescence, European Journal of
// Operational Research 214 (2011): the chance of a demand is smoothed every
// period with beta, its size at demands with alpha. It starts at the first
// demand with the chance of one in as many periods as went before.
func TSB(y []float64, alpha, beta float64) float64 { return last(tsbPath(y, alpha, beta)) }

func last(path []float64) float64 {
	if len(path) == 0 {
		return 0
	}
	return path[len(path)-1]
}

// The paths give the forecast as it stands after each period.

func sesPath(y []float64, alpha float64) []float64 {
	path := make([]float64, len(y))
	for t, v := range y {
		if t == 0 {
			path[t] = v
			continue
		}
		path[t] = path[t-1] + alpha*(v-path[t-1])
	}
	return path
}

func crostonPath(y []float64, alpha float64) []float64 {
	path := make([]float64, len(y))
	size, interval, since := 0.0, 0.0, 0.0
	for t, v := range y {
		since++
		if v > 0 {
			if interval == 0 {
				size, interval = v, since
			} else {
				size += alpha * (v - size)
				interval += alpha * (since - interval)
			}
			since = 0
		}
		if interval > 0 {
			path[t] = size / interval
		}
	}
	return path
}

func tsbPath(y []float64, alpha, beta float64) []float64 {
	path := make([]float64, len(y))
	size, chance := 0.0, 0.0
	for t, v := range y {
		switch {
		case v > 0 && chance == 0:
			size, chance = v, 1/float64(t+1)
		case v > 0:
			size += alpha * (v - size)
			chance += beta * (1 - chance)
		default:
			chance -= beta * chance
		}
		path[t] = size * chance
	}
	return path
}
