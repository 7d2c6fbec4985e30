package series

import (
	"math"
	"testing"
)

func TestFitOfDegeneratePasts(t *testing.T) {
	t.Parallel()
	late := make([]int, 104)
	for i := 80; i < 104; i += 2 {
		late[i] = 1
	}
	one := make([]int, 52)
	one[20] = 1
	burst := make([]int, 52)
	burst[30] = 10000
	for _, test := range []struct {
		rule   string
		counts []int
		want   Basis
	}{
		{"without periods the rate is 0", nil, NoPast},
		{"zeros alone leave a little", make([]int, 30), NoCount},
		{"one count is not enough to tell", one, Borrowed},
		{"a burst is a past like any other", burst, Own},
		{"what began late is judged by what came since", late, Late},
	} {
		law := Fit(Past{Series: []Series{{Counts: test.counts}}})[0]
		if law.Basis != test.want {
			t.Errorf("%s: found %q, expected %q", test.rule, law.Basis, test.want)
		}
		if !(law.Rate >= 0) || math.IsInf(law.Rate, 0) || !(law.Shape >= narrowest) {
			t.Errorf("%s: found rate %v and shape %v", test.rule, law.Rate, law.Shape)
		}
		t.Logf("%s: rate %.4g shape %.3g by %v %v", test.rule, law.Rate, law.Shape, law.Method, law.Memory)
	}
}
