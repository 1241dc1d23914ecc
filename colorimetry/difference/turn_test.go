package difference

import (
	"math"
	"testing"
)

// The table against the formula of Sharma, Wu and Dalal (2005), equation 16, at
// hues all around.
func TestTurn(t *testing.T) {
	table, worst := turnTable(), 0.0
	for h := 0.0; h < 360; h += 0.01 {
		want := math.Sin(60 * degree * math.Exp(-square((h-275)/25)))
		sin, cos := math.Sincos(h * degree)
		if e := math.Abs(turn(cos, sin, table) - want); e > worst {
			worst = e
		}
	}
	t.Logf("worst error %.2g", worst)
	if worst > 1e-14 {
		t.Errorf("worst error %.2g", worst)
	}
	if got := turn(math.NaN(), 0, table); !math.IsNaN(got) {
		t.Errorf("NaN turns %g", got)
	}
}
