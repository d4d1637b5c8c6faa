package central

import (
	"bytes"
	"io"
	"net"
	"net/url"
	"os"
	"runtime"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"linerwatch/app/study"
)

// IsAddress reports whether a name is that of a study on a server: an address, or a file
// that holds one.
func IsAddress(name string) bool {
	if study.IsAddress(name) {
		return true
	}
	f, err := os.Open(name)
	if err != nil {
		return false
	}
	defer f.Close() // was read only
	head := make([]byte, 16)
	n, _ := io.ReadFull(f, head) // less is none
	return study.IsAddress(string(bytes.TrimSpace(head[:n])))
}

// addressOf returns the address that a name is or names.
func addressOf(name string) (string, error) {
	if study.IsAddress(name) {
		return name, nil
	}
	info, err := os.Stat(name)
	if err != nil {
		return "", err
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return "", refused("central.open-file")
	}
	text, err := os.ReadFile(name)
	return strings.TrimSpace(string(text)), err
}

// configOf reads an address; of one to another machine that does not say how, the server's
// certificate is checked.
func configOf(address string) (*pgx.ConnConfig, error) {
	u, err := url.Parse(address)
	if err != nil {
		return nil, refused("central.address")
	}
	q := u.Query()
	host := u.Hostname()
	if h := q.Get("host"); h != "" {
		host = h
	}
	if q.Get("sslmode") == "" && os.Getenv("PGSSLMODE") == "" && !local(host) {
		q.Set("sslmode", "verify-full")
		u.RawQuery = q.Encode()
	}
	c, err := pgx.ParseConfig(u.String())
	if err != nil {
		return nil, refused("central.address") // pgx's own words may hold a password
	}
	if c.ConnectTimeout == 0 {
		c.ConnectTimeout = soon
	}
	c.RuntimeParams["search_path"] = schemaName
	c.RuntimeParams["application_name"] = "linerwatch"
	return c, nil
}

// soon is how long a server is waited for that does not answer, unless the address says.
const soon = 5 * time.Second

// local reports whether a host is this machine: a socket, or its own address.
func local(host string) bool {
	if host == "" {
		host = os.Getenv("PGHOST")
	}
	ip := net.ParseIP(host)
	return host == "" || strings.HasPrefix(host, "/") || host == "localhost" || ip != nil && ip.IsLoopback()
}
