package evidence

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"os"
	"path/filepath"
	"testing"
)

// TestSigner holds a key that went through the file to RFC 8032 section 7.1,
// tests 1 and 2.
func TestSigner(t *testing.T) {
	for _, c := range []struct{ name, seed, public, message, signature string }{
		{
			"1", "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
			"d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
			"e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
		},
		{
			"2", "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
			"3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
			"92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
		},
	} {
		seed, _ := hex.DecodeString(c.seed)
		message, _ := hex.DecodeString(c.message)
		file := filepath.Join(t.TempDir(), "signer")
		if err := MakeSigner(file, bytes.NewReader(seed)); err != nil {
			t.Fatal(err)
		}
		key, err := ReadSigner(file)
		if err != nil {
			t.Fatal(err)
		}
		public, err := ReadPublic(file + publicEnding)
		if err != nil {
			t.Fatal(err)
		}
		if got := hex.EncodeToString(public); got != c.public {
			t.Errorf("test %s: public key %s", c.name, got)
		}
		if got := hex.EncodeToString(ed25519.Sign(key, message)); got != c.signature {
			t.Errorf("test %s: signature %s", c.name, got)
		}
		if err := MakeSigner(file, bytes.NewReader(seed)); err == nil {
			t.Error("a key was overwritten")
		}
		if _, err := ReadSigner(file + publicEnding); err == nil {
			t.Error("a public key was taken for a private one")
		}
		if info, err := os.Stat(file); err != nil || info.Mode().Perm()&0o077 != 0 && os.PathSeparator == '/' {
			t.Errorf("others can read the key: %v %v", info.Mode(), err)
		}
	}
}
