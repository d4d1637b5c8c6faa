package central

import (
	"database/sql/driver"
	"errors"
	"io"
	"net"

	"github.com/jackc/pgx/v5/pgconn"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

var (
	refused = store.Refused
	wrapped = store.Wrapped
	named   = store.Named
)

// plain turns PostgreSQL's error codes ("PostgreSQL Error Codes", appendix A) into what a
// reader can act on.
func plain(err error) error {
	var down *pgconn.ConnectError
	var e *pgconn.PgError
	switch {
	case errors.As(err, &e):
	case errors.As(err, &down):
		return study.ErrAway
	case broken(err):
		return study.ErrAway
	default:
		return err
	}
	switch e.Code {
	case "42501": // insufficient_privilege
		return wrapped(errDenied, "central.denied-by", "Text", e.Message)
	case "LW004":
		return wrapped(errDenied, "central.code", "Code", e.Detail)
	case "28P01", "28000": // invalid_password, invalid_authorization_specification
		return refused("central.login")
	case "3D000": // invalid_catalog_name
		return refused("central.no-database")
	case "55P03": // lock_not_available
		return study.ErrBusy
	case "53100": // disk_full
		return refused("store.full")
	case "57P01", "57P02", "57P03": // admin_shutdown, crash_shutdown, cannot_connect_now
		return study.ErrAway
	}
	return wrapped(err, "central.fault", "Text", e.Message)
}

// broken reports whether a connection was lost.
func broken(err error) bool {
	var net net.Error
	return errors.As(err, &net) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, driver.ErrBadConn)
}

// errDenied is the error of what the user's role may not do.
var errDenied = study.NewError("central.denied", nil)

// Fault implements store.Base.
func (s *DB) Fault(doing study.Note, err error) error {
	return store.FaultOf(s.name, doing, err, plain)
}
