//go:build race

package transform_test

// raced tells that the race detector runs, under which sync.Pool drops at random.
const raced = true
