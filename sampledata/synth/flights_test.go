package synth_test

import (
	"path/filepath"
	"testing"

	"rollonset/ingest/profile"
)

// fleet loads the three profiles that ship with the project.
func fleet(t testing.TB) []*profile.Profile {
	t.Helper()
	var out []*profile.Profile
	for _, name := range []string{"qx40", "tj22", "tp08"} {
		p, err := profile.Load(filepath.Join("..", "fleet", name+".yaml"))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, p)
	}
	return out
}
