package linear_test

import (
	"errors"
	"fmt"
	"testing"

	"example.org/primaries/fit/internal/linear"

	"gonum.org/v1/gonum/mat"
)

func TestUnusable(t *testing.T) {
	for _, c := range []struct {
		err  error
		want bool
	}{
		{nil, false},
		{mat.Condition(1e17), false},
		{fmt.Errorf("solving: %w", mat.Condition(1e17)), false},
		{errors.New("no factor"), true},
		{mat.ErrShape, true},
	} {
		if got := linear.Unusable(c.err); got != c.want {
			t.Errorf("%v: %v, want %v", c.err, got, c.want)
		}
	}
}
