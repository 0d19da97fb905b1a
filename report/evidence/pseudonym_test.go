package evidence

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestHMAC holds the keyed hash to the vectors of RFC 4231 section 4, through
// the same package functions that mac uses.
func TestHMAC(t *testing.T) {
	rep := func(b byte, n int) []byte { return bytes.Repeat([]byte{b}, n) }
	rising := make([]byte, 25)
	for i := range rising {
		rising[i] = byte(i + 1)
	}
	long := "This is a test using a larger than block-size key and a larger than block-size data. The key needs to be hashed before being used by the HMAC algorithm."
	for _, c := range []struct {
		name      string
		key, data []byte
		want      string // a prefix where the RFC prints one
	}{
		{"1", rep(0x0b, 20), []byte("Hi There"), "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"},
		{"2", []byte("Jefe"), []byte("what do ya want for nothing?"), "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"},
		{"3", rep(0xaa, 20), rep(0xdd, 50), "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe"},
		{"4", rising, rep(0xcd, 50), "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b"},
		{"5", rep(0x0c, 20), []byte("Test With Truncation"), "a3b6167473100ee06e0c796c2955552b"},
		{"6", rep(0xaa, 131), []byte("Test Using Larger Than Block-Size Key - Hash Key First"), "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54"},
		{"7", rep(0xaa, 131), []byte(long), "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2"},
	} {
		h := hmac.New(sha256.New, c.key)
		h.Write(c.data)
		if got := hex.EncodeToString(h.Sum(nil)); !strings.HasPrefix(got, c.want) {
			t.Errorf("case %s: %s, want %s", c.name, got, c.want)
		}
	}
	// And mac is that function over kind, zero byte, value.
	k := &Key{[]byte("Jefe")}
	h := hmac.New(sha256.New, []byte("Jefe"))
	h.Write([]byte("tail\x00ZZ-Q01"))
	if got, want := k.Hash("tail", "ZZ-Q01"), hex.EncodeToString(h.Sum(nil)); got != want {
		t.Errorf("the hash of a tail is %s, want %s", got, want)
	}
}

func TestPseudonym(t *testing.T) {
	a, b := testKey(t, 1), testKey(t, 2)
	p := a.Pseudonym("tail", "ZZ-Q01")
	if len(p) != len("tail-")+pseudonymDigits || !strings.HasPrefix(p, "tail-") {
		t.Errorf("pseudonym %q has the wrong form", p)
	}
	for what, other := range map[string]string{
		"another key": b.Pseudonym("tail", "ZZ-Q01"), "another tail": a.Pseudonym("tail", "ZZ-Q02"),
		"another kind": strings.Replace(a.Pseudonym("flight", "ZZ-Q01"), "flight", "tail", 1),
	} {
		if other == p {
			t.Errorf("%s gives the same pseudonym", what)
		}
	}
	var none *Key
	if a.Pseudonym("tail", "") != "" || none.Pseudonym("tail", "ZZ-Q01") != "" || none.Hash("x", "y") != "" {
		t.Error("nothing, or no key, must give nothing")
	}
}

func testKey(t *testing.T, b byte) *Key {
	t.Helper()
	k, err := NewKey(bytes.Repeat([]byte{b}, keyBytes))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestKeyFile(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "key")
	if err := MakeKey(file, bytes.NewReader(bytes.Repeat([]byte{7}, keyBytes))); err != nil {
		t.Fatal(err)
	}
	k, err := ReadKey(file)
	if err != nil || k.Name() != testKey(t, 7).Name() {
		t.Fatalf("read another key: %v", err)
	}
	if err := MakeKey(file, bytes.NewReader(bytes.Repeat([]byte{8}, keyBytes))); err == nil {
		t.Error("a key was overwritten")
	}
	if err := MakeKey(filepath.Join(dir, "short"), strings.NewReader("short")); err == nil {
		t.Error("a key was made of too little random")
	}
	for name, text := range map[string]string{"empty": "", "short": "00ff", "words": strings.Repeat("secret word ", 20)} {
		bad := filepath.Join(dir, name)
		if err := os.WriteFile(bad, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := ReadKey(bad)
		if err == nil {
			t.Errorf("%s: taken for a key", name)
		} else if text != "" && strings.Contains(err.Error(), text) {
			t.Errorf("%s: the message tells what is in the file: %v", name, err)
		}
	}
}

func TestKeepOutside(t *testing.T) {
	dir := t.TempDir()
	inside := filepath.Join(dir, "archive")
	if err := os.MkdirAll(filepath.Join(inside, "sub"), 0o755); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link")
	if err := os.Symlink(inside, link); err != nil {
		t.Skip("no links on this system")
	}
	for _, key := range []string{filepath.Join(inside, "key"), filepath.Join(inside, "sub", "key"), filepath.Join(link, "key")} {
		if KeepOutside(key, inside) == nil {
			t.Errorf("%s was taken to be outside of %s", key, inside)
		}
	}
	for _, key := range []string{filepath.Join(dir, "key"), filepath.Join(dir, "archive-key"), filepath.Join(inside, "..", "key"), filepath.Join(inside, "..key", "x")} {
		err := KeepOutside(key, inside)
		if in := strings.HasSuffix(key, "x"); (err != nil) != in {
			t.Errorf("%s: %v", key, err)
		}
	}
}
