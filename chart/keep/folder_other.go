//go:build !unix

package keep

// syncFolder does nothing: this system cannot sync the names in a folder.
func syncFolder(string) error { return nil }
