//go:build !unix

package archive

// syncFolder does nothing here: Windows writes the entry of a folder with the
// rename and has no call to sync a folder.
func syncFolder(string) error { return nil }
