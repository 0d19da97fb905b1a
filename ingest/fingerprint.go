package ingest

import (
	"errors"

	"rollonset/ingest/flightdata"
	"rollonset/ingest/profile"
	"rollonset/ingest/table"
)

// Fingerprint is what identifies the result of a recording before it is read:
// the hash of its bytes and the profile that would read it.
type Fingerprint struct {
	SHA256  string
	Profile *profile.Profile
}

// Identify hashes a file and chooses its profile, without decoding a sample.
// The errors are those of Open.
func Identify(path string, profiles []*profile.Profile, opt Options) (fp Fingerprint, err error) {
	f, err := table.Open(path, tableOptions(profiles, opt))
	if err != nil {
		return fp, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if text, ok := f.Metadata()[flightdata.ClipKey]; ok {
		fp.Profile, _, err = clipHead(path, text, profiles)
	} else {
		fp.Profile, _, err = which(path, f, profiles, opt)
	}
	if err != nil {
		return fp, err
	}
	fp.SHA256, _, err = f.Digest()
	return fp, err
}
