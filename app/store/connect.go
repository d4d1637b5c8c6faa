package store

import (
	"database/sql"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"

	_ "modernc.org/sqlite" // the driver
)

// connect returns one connection to the file at path, which is there.
func connect(path string, how ...func(url.Values)) (*sql.DB, error) {
	name, err := source(path, how...)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// connect returns a connection to the study's file as it was opened.
func (s *DB) connect() (*sql.DB, error) {
	if !s.readOnly {
		return connect(s.path)
	}
	if s.copy != "" {
		return connect(s.copy)
	}
	return connect(s.path, asUnchanging)
}

// source returns the data source name: the file as a URI, and the settings of
// every connection.
func source(path string, how ...func(url.Values)) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") { // a drive letter
		path = "/" + path
	}
	q := url.Values{"mode": {"rw"}, "_txlock": {"immediate"}, "_pragma": {
		fmt.Sprintf("busy_timeout(%d)", busyWait.Milliseconds()), "synchronous(FULL)", "foreign_keys(1)", "recursive_triggers(1)", "trusted_schema(0)",
	}}
	for _, set := range how {
		set(q)
	}
	return (&url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}).String(), nil
}
