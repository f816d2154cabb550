package cluster

import (
	"fmt"
	"net"
	"strconv"
	"sync"
	"testing"
	"time"
)

// Cable is a network between a bay and the server that can be cut.
type Cable struct {
	net.Listener
	server string

	mu   sync.Mutex
	out  bool // nobody gets through
	ends map[net.Conn]bool
	on   func(fromServer bool, data []byte) (cut bool) // sees what goes through; nil: nothing
	back time.Duration                                 // after which a cut that on asked for is mended; 0: not
	soon *time.Timer                                   // that does so
}

// Lay lays a cable from a port of its own to a server.
func Lay(t testing.TB, s *Server) *Cable {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c := &Cable{Listener: l, server: net.JoinHostPort("127.0.0.1", strconv.Itoa(s.Port)), ends: map[net.Conn]bool{}}
	go func() {
		for {
			bay, err := c.Accept()
			if err != nil {
				return
			}
			go c.connect(bay)
		}
	}()
	t.Cleanup(func() {
		c.Cut()
		l.Close()
	})
	return c
}

func (c *Cable) connect(bay net.Conn) {
	server, err := net.Dial("tcp", c.server)
	c.mu.Lock()
	if err != nil || c.out {
		c.mu.Unlock()
		bay.Close()
		if err == nil {
			server.Close()
		}
		return
	}
	c.ends[bay], c.ends[server] = true, true
	c.mu.Unlock()
	var ways sync.WaitGroup
	ways.Go(func() { c.carry(bay, server, true) })
	ways.Go(func() { c.carry(server, bay, false) })
	ways.Wait()
	c.mu.Lock()
	defer c.mu.Unlock()
	delete(c.ends, bay)
	delete(c.ends, server)
}

// carry moves data until one end closes, or what is watched for goes by.
func (c *Cable) carry(to, from net.Conn, fromServer bool) {
	defer to.Close()
	defer from.Close()
	data := make([]byte, 1<<16)
	for {
		n, err := from.Read(data)
		if err != nil {
			return
		}
		if c.watched(fromServer, data[:n]) {
			return
		}
		if _, err := to.Write(data[:n]); err != nil {
			return
		}
	}
}

// watched shows data to whoever watches, one after the other, and cuts when they say so.
func (c *Cable) watched(fromServer bool, data []byte) (cut bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.on == nil || !c.on(fromServer, data) {
		return false
	}
	c.cut()
	c.on = nil
	if c.back > 0 {
		c.soon = time.AfterFunc(c.back, c.Mend)
	}
	return true
}

// Cut ends what goes through and lets nobody through again until it is mended.
func (c *Cable) Cut() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.cut()
}

func (c *Cable) cut() {
	c.out = true
	for end := range c.ends {
		end.Close()
	}
}

// Mend lets everybody through again, and watches for nothing.
func (c *Cable) Mend() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.out, c.on = false, nil
	if c.soon != nil {
		c.soon.Stop()
	}
}

// Watch shows what goes through to on, which says when the cable is to be cut, once. Back
// is after which time it is mended again; 0: by [Cable.Mend] only.
func (c *Cable) Watch(back time.Duration, on func(fromServer bool, data []byte) (cut bool)) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.on, c.back = on, back
}

// Address gives the address of a database by way of the cable.
func (c *Cable) Address(name, user string) string {
	return fmt.Sprintf("postgres://%s@%s/%s?sslmode=disable", user, c.Addr(), name)
}
