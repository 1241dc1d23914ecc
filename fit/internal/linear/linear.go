// Package linear is what the fits do with gonum's linear algebra beside it.
package linear

import (
	"errors"

	"gonum.org/v1/gonum/mat"
)

// Unusable reports whether err is more than gonum's remark on a condition number:
// a factor that was found solves, and a bad condition costs digits only.
func Unusable(err error) bool {
	var poor mat.Condition
	return err != nil && !errors.As(err, &poor)
}
