package inventory

// law is the law of a sum that depends on chance: each size once, the smallest
// first, with its probability.
type law []sized

type sized struct {
	size Quantity
	prob float64
}

// nothing is the law of a sum of no terms.
var nothing = law{{0, 1}}

// negligible is what a law may lose at either end in one step: sizes that
// matter to no readiness, but would make laws as long as all jobs together.
const negligible = 1e-15

// with adds a yes-or-no event of size q to the sum.
func (l law) with(q Quantity, p float64) law {
	sum := make(law, 0, 2*len(l))
	for no, yes := 0, 0; yes < len(l); {
		switch {
		case no < len(l) && l[no].size < l[yes].size+q:
			sum = append(sum, sized{l[no].size, l[no].prob * (1 - p)})
			no++
		case no < len(l) && l[no].size == l[yes].size+q:
			sum = append(sum, sized{l[no].size, l[no].prob*(1-p) + l[yes].prob*p})
			no, yes = no+1, yes+1
		default:
			sum = append(sum, sized{l[yes].size + q, l[yes].prob * p})
			yes++
		}
	}
	return sum.trimmed()
}

// trimmed moves what is negligible at the ends to the size next to it.
func (l law) trimmed() law {
	for len(l) > 1 && l[0].prob < negligible {
		l[1].prob += l[0].prob
		l = l[1:]
	}
	for n := len(l) - 1; n > 0 && l[n].prob < negligible; n-- {
		l[n-1].prob += l[n].prob
		l = l[:n]
	}
	return l
}

// quantile is the smallest size whose cumulative probability reaches p.
func (l law) quantile(p float64) Quantity {
	sum := 0.0
	for _, s := range l {
		if sum += s.prob; sum >= p-1e-12 {
			return s.size
		}
	}
	return l[len(l)-1].size
}
