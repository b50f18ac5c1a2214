package pgtest

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"math/big"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// OnlyTLS has the server take no connection over the network but with TLS. Its
// certificate is for the name "localhost"; the file of the authority that has signed it is
// given. The tests' own statements go by the server's socket.
func (s *Server) OnlyTLS(t testing.TB) (authority string) {
	t.Helper()
	file := func(name string, blocks ...*pem.Block) string {
		var text bytes.Buffer
		for _, b := range blocks {
			if err := pem.Encode(&text, b); err != nil {
				t.Fatal(err)
			}
		}
		path := filepath.Join(s.dir, name)
		if err := os.WriteFile(path, text.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		if s.as != nil {
			if err := os.Chown(path, int(s.as.Uid), int(s.as.Gid)); err != nil {
				t.Fatal(err)
			}
		}
		return path
	}
	ca, caKey := Authority(t)
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	own := &x509.Certificate{SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: "localhost"}, DNSNames: []string{"localhost"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour)}
	signed, err := x509.CreateCertificate(rand.Reader, own, ca, key.Public(), caKey)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalECPrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	certificate := file("server.crt", &pem.Block{Type: "CERTIFICATE", Bytes: signed})
	private := file("server.key", &pem.Block{Type: "EC PRIVATE KEY", Bytes: secret})
	for _, statement := range []string{
		"ALTER SYSTEM SET ssl = on", "ALTER SYSTEM SET ssl_cert_file = '" + certificate + "'", "ALTER SYSTEM SET ssl_key_file = '" + private + "'",
	} {
		s.Exec(t, s.socket("postgres"), statement)
	}
	hba := filepath.Join(s.dir, "data", "pg_hba.conf")
	if err := os.WriteFile(hba, []byte("local all all trust\nhostssl all all 127.0.0.1/32 trust\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := s.Restart(); err != nil {
		t.Fatal(err)
	}
	return WriteAuthority(t, ca)
}

// Authority makes one that signs certificates, for an hour.
func Authority(t testing.TB) (*x509.Certificate, *ecdsa.PrivateKey) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	ca := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "a test's authority"}, NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign,
	}
	signed, err := x509.CreateCertificate(rand.Reader, ca, ca, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	if ca, err = x509.ParseCertificate(signed); err != nil {
		t.Fatal(err)
	}
	return ca, key
}

// WriteAuthority writes an authority's certificate into a file, as an address names it.
func WriteAuthority(t testing.TB, ca *x509.Certificate) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "authority.pem")
	if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: ca.Raw}), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
