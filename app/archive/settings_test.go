package archive_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"errors"
	"fmt"
	"math/big"
	"net"
	"net/http/httptest"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/zalando/go-keyring"

	"linerwatch/app/archive"
	"linerwatch/app/study"
	"linerwatch/dicomio/dimse/dimsetest"
	"linerwatch/dicomio/web/webtest"
)

func TestSettings(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a", "archives.json")
	none, err := archive.Load(path)
	require.NoError(t, err)
	require.Empty(t, none)
	list := []archive.Settings{
		{Name: "ward", Address: "host:104", Called: "A", Calling: "B", TLS: true},
		{Name: "clinic", Address: "https://host/dicom-web", User: "u"},
	}
	require.NoError(t, archive.Save(path, list))
	back, err := archive.Load(path)
	require.NoError(t, err)
	require.Equal(t, "clinic", back[0].Name, "by name")
	_, err = archive.Named(back, "other")
	require.Equal(t, "no archive other is set", study.Told(err))
	require.NoError(t, os.WriteFile(path, []byte("{"), 0o600))
	_, err = archive.Load(path)
	require.Contains(t, study.Told(err), "cannot be read: ")

	for want, bad := range map[string]archive.Settings{
		"is no name":         {Name: "a b", Address: "https://h/d"},
		"no address":         {Name: "a", Address: "ftp://h/d"},
		"as host:104":        {Name: "a", Address: "h", Called: "A", Calling: "B"},
		"no title":           {Name: "a", Address: "h:104"},
		"go together":        {Name: "a", Address: "https://h/d", Cert: "c"},
		"of a DICOM archive": {Name: "a", Address: "https://h/d", Called: "A"},
		"a user and":         {Name: "a", Address: "h:104", Called: "A", Calling: "B", User: "u"},
	} {
		require.Contains(t, study.Told(bad.Check()), want)
	}
	require.True(t, archive.Settings{Address: "http://h", User: "u"}.Clear())
	require.False(t, archive.Settings{Address: "https://h", User: "u"}.Clear())
}

func TestPasswords(t *testing.T) {
	keyring.MockInit()
	ctx, a := t.Context(), archive.Settings{Name: "main-ward", Address: "https://h/d", User: "u"}
	env := map[string]string{"DBUS_SESSION_BUS_ADDRESS": "there"}
	s := archive.Secrets{Getenv: func(name string) string { return env[name] }}
	_, err := s.Of(ctx, a)
	require.Equal(t, "no password of main-ward: keep it in the keyring, or set LINERWATCH_PASSWORD_MAIN_WARD", study.Told(err))
	require.NoError(t, s.Keep(ctx, a, "ring"))
	p, err := s.Of(ctx, a)
	require.NoError(t, err)
	require.Equal(t, "ring", p)
	require.NoError(t, s.Forget(ctx, a))
	require.NoError(t, s.Forget(ctx, a))

	file := filepath.Join(t.TempDir(), "p")
	require.NoError(t, os.WriteFile(file, []byte("in file\n"), 0o600))
	a.PasswordFile = file
	p, err = s.Of(ctx, a)
	require.NoError(t, err)
	require.Equal(t, "in file", p)
	env["LINERWATCH_PASSWORD_MAIN_WARD"] = "env"
	p, err = s.Of(ctx, a)
	require.NoError(t, err)
	require.Equal(t, "env", p)
	delete(env, "LINERWATCH_PASSWORD_MAIN_WARD")
	require.NoError(t, os.Chmod(file, 0o640))
	_, err = s.Of(ctx, a)
	require.Contains(t, study.Told(err), "others can read the password file")
	require.NoError(t, os.WriteFile(file, []byte("a\nb\n"), 0o600))
	require.NoError(t, os.Chmod(file, 0o600))
	_, err = s.Of(ctx, a)
	require.Contains(t, study.Told(err), "no file of one password")

	keyring.MockInitWithError(errors.New("locked"))
	a.PasswordFile = ""
	_, err = s.Of(ctx, a)
	require.Contains(t, study.Told(err), "locked; set LINERWATCH_PASSWORD_MAIN_WARD")
	clear(env)
	_, err = s.Of(ctx, a)
	require.Contains(t, study.Told(err), "there is no keyring here")
	p, err = s.Of(ctx, archive.Settings{Name: "open"})
	require.NoError(t, err)
	require.Empty(t, p)
}

// What is set names its files from any working folder, and none that cannot be used.
func TestSettingsNameFilesWhole(t *testing.T) {
	t.Chdir(t.TempDir())
	here, err := filepath.Abs("secret")
	require.NoError(t, err)
	a := archive.Settings{Name: "a", Address: "https://h/d", User: "u", PasswordFile: "secret"}
	_, err = a.Whole()
	require.Equal(t, "password file: stat "+here+": no such file or directory", study.Told(err))
	require.NoError(t, os.WriteFile("secret", []byte("a"), 0o644))
	_, err = a.Whole()
	require.Contains(t, study.Told(err), "others can read the password file "+here)
	require.NoError(t, os.Chmod("secret", 0o600))
	whole, err := a.Whole()
	require.NoError(t, err)
	require.Equal(t, here, whole.PasswordFile)
	a.User = ""
	_, err = a.Whole()
	require.Equal(t, "a password without a user", study.Told(err))
	_, err = archive.Settings{Name: "a", Address: "https://h/d", CA: "none.pem"}.Whole()
	require.Contains(t, study.Told(err), filepath.Join(filepath.Dir(here), "none.pem"))
}

// A password is in no error, nor in the settings.
func TestPasswordIsNotTold(t *testing.T) {
	s := servers(t)["web"]
	const password = "a password like no other"
	a, err := archive.Open(t.Context(), s.set, archive.Secrets{Getenv: func(string) string { return password }})
	require.NoError(t, err)
	_, err = a.Series(t.Context(), "P1")
	require.Equal(t, "the archive does not take this user and password", study.Told(err))
	for _, secret := range []string{password, base64.StdEncoding.EncodeToString([]byte("ward:" + password))} {
		require.NotContains(t, fmt.Sprintf("%v %+v", err, a.Settings), secret)
	}
}

// certified writes a certificate that is its own authority, and its key.
func certified(t *testing.T) (cert, key string) {
	t.Helper()
	dir := t.TempDir()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	of := &x509.Certificate{SerialNumber: big.NewInt(1), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true,
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour)}
	der, err := x509.CreateCertificate(rand.Reader, of, of, &private.PublicKey, private)
	require.NoError(t, err)
	secret, err := x509.MarshalPKCS8PrivateKey(private)
	require.NoError(t, err)
	write := func(name, kind string, b []byte) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: b}), 0o600))
		return path
	}
	return write("cert.pem", "CERTIFICATE", der), write("key.pem", "PRIVATE KEY", secret)
}

// Certificates are those of files, for both kinds of archive.
func TestCertificates(t *testing.T) {
	cert, key := certified(t)
	pair, err := tls.LoadX509KeyPair(cert, key)
	require.NoError(t, err)
	authorities := x509.NewCertPool()
	authorities.AddCert(pair.Leaf)
	cfg := &tls.Config{Certificates: []tls.Certificate{pair}, ClientCAs: authorities, ClientAuth: tls.RequireAndVerifyClientCert}
	web := httptest.NewUnstartedServer(&webtest.Archive{})
	web.TLS = cfg
	web.StartTLS()
	defer web.Close()
	l, err := tls.Listen("tcp", "127.0.0.1:0", cfg)
	require.NoError(t, err)
	(&dimsetest.Archive{Title: "A", Dir: t.TempDir()}).On(t.Context(), l)
	for _, s := range []archive.Settings{
		{Name: "web", Address: web.URL},
		{Name: "dimse", Address: l.Addr().String(), Called: "A", Calling: "B", TLS: true},
	} {
		ask := func(ca, cert, key string) string {
			s.CA, s.Cert, s.Key = ca, cert, key
			a, err := archive.Open(t.Context(), s, secrets)
			if err == nil {
				defer a.Close()
				err = a.Ask(t.Context())
			}
			return study.Told(err)
		}
		require.Empty(t, ask(cert, cert, key))
		require.Contains(t, ask("", cert, key), "certificate signed by unknown authority")
		require.Contains(t, ask(cert, "", ""), "certificate required")
		require.Contains(t, ask(key, cert, key), "no certificate in ")
		require.Contains(t, ask("none.pem", cert, key), "authorities: open none.pem")
		require.Contains(t, ask(cert, cert, cert), "certificate: ")
	}
}
