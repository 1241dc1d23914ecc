//go:build !linux

package transform_test

import "time"

var begun = time.Now()

// clock tells the time. What it counts from means nothing.
func clock() time.Duration { return time.Since(begun) }
