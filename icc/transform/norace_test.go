//go:build !race

package transform_test

const raced = false
