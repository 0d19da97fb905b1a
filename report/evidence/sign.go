package evidence

import (
	"crypto/ed25519"
	"crypto/sha256"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"os"
)

// The PEM labels of RFC 7468 for a private key in PKCS #8 and a public key.
const (
	privateLabel = "PRIVATE KEY"
	publicLabel  = "PUBLIC KEY"
	publicEnding = ".pub"
)

// MakeSigner writes a new Ed25519 key (RFC 8032) as PEM PKCS #8 (RFC 8410) to
// path, readable by its owner only, and the public key beside it as
// path.pub, to be given to whoever verifies. Neither file may be there.
func MakeSigner(path string, random io.Reader) error {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(random, seed); err != nil {
		return fmt.Errorf("make a key: %w", err)
	}
	key := ed25519.NewKeyFromSeed(seed)
	text, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return fmt.Errorf("make a key: %w", err)
	}
	public, err := publicText(key.Public().(ed25519.PublicKey))
	if err != nil {
		return err
	}
	if _, err := os.Lstat(path + publicEnding); !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s is there already and is not overwritten; name another file", path+publicEnding)
	}
	if err := writeSecret(path, pem.EncodeToMemory(&pem.Block{Type: privateLabel, Bytes: text})); err != nil {
		return err
	}
	return writeSecret(path+publicEnding, public)
}

// ReadSigner reads a private key that MakeSigner, or any other program, wrote
// as PEM PKCS #8. Errors hold nothing of it.
func ReadSigner(path string) (ed25519.PrivateKey, error) {
	block, err := readPEM(path, privateLabel)
	if err != nil {
		return nil, err
	}
	any, err := x509.ParsePKCS8PrivateKey(block)
	key, ok := any.(ed25519.PrivateKey)
	if err != nil || !ok {
		return nil, fmt.Errorf("%s holds no Ed25519 key; make one with `rollonset evidence --make-key FILE`", path)
	}
	return key, nil
}

// ReadPublic reads a public key in PEM.
func ReadPublic(path string) (ed25519.PublicKey, error) {
	block, err := readPEM(path, publicLabel)
	if err != nil {
		return nil, err
	}
	key, err := parsePublic(block)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return key, nil
}

func readPEM(path, label string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read the key: %w", err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxKeyFile))
	if err != nil {
		return nil, fmt.Errorf("read the key: %w", err)
	}
	block, _ := pem.Decode(text)
	if block == nil || block.Type != label {
		return nil, fmt.Errorf("%s holds no PEM block %q; make a key with `rollonset evidence --make-key FILE`", path, label)
	}
	return block.Bytes, nil
}

func publicText(key ed25519.PublicKey) ([]byte, error) {
	text, err := x509.MarshalPKIXPublicKey(key)
	if err != nil {
		return nil, fmt.Errorf("write the public key: %w", err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: publicLabel, Bytes: text}), nil
}

func parsePublic(block []byte) (ed25519.PublicKey, error) {
	any, err := x509.ParsePKIXPublicKey(block)
	key, ok := any.(ed25519.PublicKey)
	if err != nil || !ok {
		return nil, errors.New("no Ed25519 public key")
	}
	return key, nil
}

// Fingerprint is the SHA-256 of a public key's 32 bytes, in hex: what two
// people read to each other.
func Fingerprint(key ed25519.PublicKey) string {
	sum := sha256.Sum256(key)
	return hex.EncodeToString(sum[:])
}
