package store

import (
	"context"
	"crypto/tls"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
)

// Errors of a shared store, besides those of every store. They come wrapped with the
// place of the server and what it said. [Hint] has a remedy for each.
var (
	ErrAddress     = errors.New("the address of the shared store does not read")
	ErrUnreachable = errors.New("the shared store cannot be reached")
	ErrLogin       = errors.New("the shared store refuses this name and password")
	ErrTLS         = errors.New("the shared store and this program do not agree on encryption")
	ErrReadOnly    = errors.New("this login may read the shared store, not add to it")
	ErrNoRights    = errors.New("this login has no rights to the records")
	ErrNoStore     = errors.New("there is no record store in this database yet")
	ErrOlder       = errors.New("written by an older version of this program")
	ErrUnsound     = errors.New("the shared store refuses events that do not belong to the job")
)

// hints has the remedies. None holds up a walk: that goes on with the records here.
var hints = []struct {
	of   error
	text string
}{
	{ErrNotHeld, "only the store that holds a job adds to it. One that the office holds is taken over by  daytank share take JOB  or worked on there with --shared; one that a bay holds, by  daytank share release JOB  in that bay"},
	{ErrAmbiguous, "two bays gave the number while they had no network: name the job by its id"},
	{ErrAddress, "write it as postgres://name@host:port/database, the password in PGPASSWORD or the password file"},
	{ErrTLS, "add sslmode=verify-full and sslrootcert=FILE to the address, as whoever runs the server says; work goes on here, and is sent later"},
	{ErrLogin, "the password may be wrong, or have expired; whoever runs the server can tell; work goes on here, and is sent later"},
	{ErrReadOnly, "send with a login that is a member of daytank_bay; work goes on here"},
	{ErrNoRights, "whoever runs the server makes the login a member of daytank_bay, or of daytank_reader to look only"},
	{ErrNoStore, "the owner of the database sets it up once: daytank share set-up ADDRESS"},
	{ErrOlder, "the owner of the database sets it up again (daytank share set-up ADDRESS), which changes it to the present format and keeps the records"},
	{ErrNewer, "install the present version of this program here; work goes on here meanwhile"},
	{ErrDamaged, "a copy of the file can take its place; jobs that were exported, or sent to the shared records, are still whole there"},
	{ErrForeign, "the records are kept in the file of the setting store; --store FILE names another"},
	{errProtected, "also who only looks writes beside it: copy the file to a place of your own, and name the copy with --store"},
	{ErrUnreachable, "work goes on here, and is sent when the shared store answers again"},
}

// Hint gives what can be done about an error of a store, empty if nothing is known.
func Hint(err error) string {
	for _, h := range hints {
		if errors.Is(err, h.of) {
			return h.text
		}
	}
	return ""
}

// say puts words before an error of the server, the network or the address.
func (p *postgres) say(err error) error {
	if kind := p.kindOf(err); kind != nil && !errors.Is(err, kind) {
		if kind == ErrUnreachable {
			err = inShort{err}
		}
		err = fmt.Errorf("%w: %w", kind, err)
	}
	return fmt.Errorf("shared store %s: %w", p.place, err)
}

// inShort is an error in which a connection that failed is told by its cause alone: the
// driver tells every address it tried, several times.
type inShort struct{ error }

func (e inShort) Unwrap() error { return e.error }

// Error says no such host, or connection refused.
func (e inShort) Error() string {
	var connecting *pgconn.ConnectError
	if !errors.As(e.error, &connecting) {
		return e.error.Error()
	}
	var name *net.DNSError
	var call *os.SyscallError
	cause := connecting.Error()
	switch {
	case errors.As(connecting, &name):
		cause = name.Err
	case errors.As(connecting, &call):
		cause = call.Err.Error()
	}
	text := strings.Replace(e.error.Error(), connecting.Error(), cause, 1)
	return strings.ReplaceAll(text, "\n", "; ")
}

// kindOf gives the error of this package that another one comes down to, or nil.
func (p *postgres) kindOf(err error) error {
	var refused *tls.CertificateVerificationError
	var sent *pgconn.PgError
	switch {
	case errors.Is(err, context.Canceled):
		return nil
	case errors.As(err, &sent):
		return p.kindOfCode(sent)
	case errors.As(err, &refused), strings.Contains(err.Error(), "server refused TLS connection"):
		return ErrTLS
	case unreachable(err):
		return ErrUnreachable
	}
	return nil
}

func (p *postgres) kindOfCode(sent *pgconn.PgError) error {
	switch sent.Code {
	case "28P01":
		return ErrLogin
	case "28000":
		// Where the server's rules turn away who comes in the clear, it is for that,
		// mostly; its words are in the language of the server.
		if p.plain && sent.Routine == "ClientAuthentication" {
			return ErrTLS
		}
		return ErrLogin
	case "25006":
		return ErrReadOnly
	case codeNoRight:
		return ErrNoRights
	case "3D000": // no such database
		return ErrNoStore
	case "DT001":
		return ErrUnsound
	case "57P01", "57P02", "57P03", "57P05", "53300", "25P03": // going down, coming up, full, or ended the connection
		return ErrUnreachable
	}
	return nil
}

// unreachable tells errors of the network from others.
func unreachable(err error) bool {
	var network net.Error
	var connecting *pgconn.ConnectError
	if errors.As(err, &network) || errors.As(err, &connecting) || pgconn.Timeout(err) {
		return true
	}
	for _, cut := range []error{driver.ErrBadConn, io.EOF, io.ErrUnexpectedEOF, net.ErrClosed, pgconn.ErrConnClosed, context.DeadlineExceeded} {
		if errors.Is(err, cut) {
			return true
		}
	}
	return false
}

// codeOfPostgres gives the code of an error that the server sent, empty if it sent none.
func codeOfPostgres(err error) string {
	var sent *pgconn.PgError
	if !errors.As(err, &sent) {
		return ""
	}
	return sent.Code
}
