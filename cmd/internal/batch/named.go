package batch

import (
	"io"
	"os"
	"path/filepath"
	"strings"
)

// misnamed says of a file that could not be read that it is not what its name
// says, "" when it is or when that cannot be told: what a table is read as is
// told by its bytes, and a reason that speaks of columns would lead astray.
func misnamed(path string) string {
	if !strings.EqualFold(filepath.Ext(path), ".parquet") {
		return ""
	}
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer func() { _ = f.Close() }() // it was only read
	const magic = "PAR1"             // Parquet file format: a file begins and ends with it
	head := make([]byte, len(magic))
	if n, err := io.ReadFull(f, head); err != nil && n == 0 || string(head[:n]) == magic {
		return ""
	}
	return "this is no Parquet file (it does not begin with " + magic + "), and it was read as what it holds: "
}
