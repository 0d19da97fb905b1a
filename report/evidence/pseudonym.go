package evidence

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// Key is the operator's secret from which pseudonyms are made. Without it a
// pseudonym cannot be made of a guessed identity, which a plain hash would
// allow: there are few tails, and anybody can hash all of them. A nil Key
// gives empty pseudonyms.
type Key struct{ secret []byte }

// Lengths of a key and of a pseudonym. 32 bytes is the output of SHA-256,
// below which RFC 2104 section 3 discourages keys. 12 hexadecimal digits are
// 48 bits: among 100,000 flights two share a pseudonym with a chance of 1 in
// 56,000.
const (
	keyBytes        = 32
	pseudonymDigits = 12
	maxKeyFile      = 1 << 12
)

// NewKey makes a key of a secret of at least 32 bytes.
func NewKey(secret []byte) (*Key, error) {
	if len(secret) < keyBytes {
		return nil, fmt.Errorf("a key of %d bytes is too short; use at least %d", len(secret), keyBytes)
	}
	return &Key{bytes.Clone(secret)}, nil
}

// ReadKey reads a key file: one line of at least 64 hexadecimal digits, as
// MakeKey writes it. Errors never hold anything of what was read.
func ReadKey(path string) (*Key, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the key: %w", err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxKeyFile))
	if err != nil {
		return nil, fmt.Errorf("read the key: %w", err)
	}
	secret, err := hex.DecodeString(strings.TrimSpace(string(text)))
	if err != nil || len(secret) < keyBytes {
		return nil, fmt.Errorf("%s holds no key: it must be one line of at least %d hexadecimal digits; make one with `rollonset share --make-key FILE`", path, 2*keyBytes)
	}
	return &Key{secret}, nil
}

// MakeKey writes a new key file, readable by its owner only, from 32 bytes of
// random. A file that is there stays: with a key, all its pseudonyms would be
// lost.
func MakeKey(path string, random io.Reader) error {
	secret := make([]byte, keyBytes)
	if _, err := io.ReadFull(random, secret); err != nil {
		return fmt.Errorf("make a key: %w", err)
	}
	return writeSecret(path, []byte(hex.EncodeToString(secret)+"\n"))
}

// writeSecret makes a file that only its owner reads and that was not there.
func writeSecret(path string, text []byte) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s is there already and is not overwritten; name another file", path)
	}
	if err != nil {
		return fmt.Errorf("make a key: %w", err)
	}
	if _, err := f.Write(text); err != nil {
		return errors.Join(fmt.Errorf("make a key: %w", err), f.Close(), os.Remove(path))
	}
	return f.Close()
}

// KeepOutside refuses a key file that lies in one of the folders, links
// followed: whoever is given the folder would be given the key with it.
func KeepOutside(key string, folders ...string) error {
	file, err := resolved(key)
	if err != nil {
		return err
	}
	for _, folder := range folders {
		dir, err := resolved(folder)
		if err != nil {
			return err
		}
		if rel, err := filepath.Rel(dir, file); err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator)) {
			return fmt.Errorf("the key %s lies in %s; keep it outside, or whoever gets the folder gets the key", key, folder)
		}
	}
	return nil
}

// resolved is an absolute path without links; of what is not there yet, that
// of the folder above it.
func resolved(path string) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", fmt.Errorf("find %s: %w", path, err)
	}
	if real, err := filepath.EvalSymlinks(abs); err == nil {
		return real, nil
	}
	if above := filepath.Dir(abs); above != abs {
		real, err := resolved(above)
		return filepath.Join(real, filepath.Base(abs)), err
	}
	return abs, nil
}

// mac is HMAC-SHA-256 (RFC 2104, FIPS 180-4) of a value of a kind. The kind
// keeps a tail and a flight of the same letters apart; the zero byte keeps
// two kinds from running into each other.
func (k *Key) mac(kind, value string) string {
	h := hmac.New(sha256.New, k.secret)
	_, _ = io.WriteString(h, kind+"\x00"+value) // a hash does not fail
	return hex.EncodeToString(h.Sum(nil))
}

// Hash is the keyed hash of a value in 64 hexadecimal digits, in place of a
// plain hash by which a file could be looked up; "" of "" and of a nil key.
func (k *Key) Hash(kind, value string) string {
	if k == nil || value == "" {
		return ""
	}
	return k.mac(kind, value)
}

// Pseudonym stands for a value: the kind, a hyphen and the first 12 digits of
// the keyed hash, "tail-0b344c61d8db". It is "" of "" and of a nil key.
func (k *Key) Pseudonym(kind, value string) string {
	if k == nil || value == "" {
		return ""
	}
	return kind + "-" + k.mac(kind, value)[:pseudonymDigits]
}

// Name tells keys apart without telling anything of them.
func (k *Key) Name() string { return k.Pseudonym("key", "name") }
