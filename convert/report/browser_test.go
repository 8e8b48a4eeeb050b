package report

import (
	"bufio"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"dropcut/convert/peer"
)

// browser is a Chromium without a window that is driven by its own protocol for
// developers, through two pipes: no port that somebody else could take, and no
// driver program of another version.
type browser struct {
	t       *testing.T
	in      io.Writer
	id      int
	session string
	mu      sync.Mutex
	waiting map[int]chan reply
	faults  []string // of the console, and errors of scripts
	asked   []string // addresses that the page asked for
	loads   int
}

type reply struct {
	ID     int             `json:"id"`
	Method string          `json:"method"`
	Params json.RawMessage `json:"params"`
	Result json.RawMessage `json:"result"`
	Error  *struct{ Message string }
}

func startBrowser(t *testing.T) *browser {
	t.Helper()
	program := peer.Program(t, "chromium", "chromium-browser", "google-chrome")
	toR, toW, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	fromR, fromW, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	profile, err := os.MkdirTemp("", "dropcut-browser-")
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--disable-dev-shm-usage", "--remote-debugging-pipe", "--user-data-dir="+profile, "about:blank")
	cmd.ExtraFiles = []*os.File{toR, fromW} // 3 and 4, as the protocol has it
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	toR.Close()
	fromW.Close()
	b := &browser{t: t, in: toW, waiting: map[int]chan reply{}}
	go b.listen(fromR)
	t.Cleanup(func() {
		toW.Close()
		done := make(chan error, 1)
		go func() { done <- cmd.Wait() }()
		select {
		case <-done:
		case <-time.After(5 * time.Second):
			_ = cmd.Process.Kill()
			<-done
		}
		fromR.Close()
		// Its helpers may still be writing for a moment.
		for range 20 {
			if os.RemoveAll(profile) == nil {
				break
			}
			time.Sleep(50 * time.Millisecond)
		}
	})
	var target struct{ TargetID string }
	b.call("Target.createTarget", map[string]any{"url": "about:blank"}, &target)
	var session struct{ SessionID string }
	b.call("Target.attachToTarget", map[string]any{"targetId": target.TargetID, "flatten": true}, &session)
	b.session = session.SessionID
	for _, domain := range []string{"Page", "Runtime", "Log", "Network"} {
		b.call(domain+".enable", nil, nil)
	}
	return b
}

func (b *browser) listen(r io.Reader) {
	in := bufio.NewReaderSize(r, 1<<20)
	for {
		data, err := in.ReadBytes(0)
		if err != nil {
			b.mu.Lock()
			for _, c := range b.waiting {
				close(c)
			}
			b.waiting = map[int]chan reply{}
			b.mu.Unlock()
			return
		}
		var m reply
		if json.Unmarshal(data[:len(data)-1], &m) != nil {
			continue
		}
		b.mu.Lock()
		switch {
		case m.ID != 0:
			if c := b.waiting[m.ID]; c != nil {
				c <- m
				delete(b.waiting, m.ID)
			}
		case m.Method == "Runtime.exceptionThrown" || m.Method == "Log.entryAdded":
			b.faults = append(b.faults, string(m.Params))
		case m.Method == "Runtime.consoleAPICalled":
			b.faults = append(b.faults, string(m.Params))
		case m.Method == "Network.requestWillBeSent":
			var p struct{ Request struct{ URL string } }
			_ = json.Unmarshal(m.Params, &p)
			b.asked = append(b.asked, p.Request.URL)
		case m.Method == "Page.loadEventFired":
			b.loads++
		}
		b.mu.Unlock()
	}
}

func (b *browser) call(method string, params, into any) {
	b.t.Helper()
	b.mu.Lock()
	b.id++
	id := b.id
	c := make(chan reply, 1)
	b.waiting[id] = c
	b.mu.Unlock()
	m := map[string]any{"id": id, "method": method}
	if params != nil {
		m["params"] = params
	}
	if b.session != "" {
		m["sessionId"] = b.session
	}
	data, err := json.Marshal(m)
	if err != nil {
		b.t.Fatal(err)
	}
	if _, err := b.in.Write(append(data, 0)); err != nil {
		b.t.Fatal(err)
	}
	select {
	case m, ok := <-c:
		if !ok {
			b.t.Fatalf("%s: the browser has ended", method)
		}
		if m.Error != nil {
			b.t.Fatalf("%s: %s", method, m.Error.Message)
		}
		if into != nil {
			if err := json.Unmarshal(m.Result, into); err != nil {
				b.t.Fatal(err)
			}
		}
	case <-time.After(60 * time.Second):
		b.t.Fatalf("%s: no answer in a minute", method)
	}
}

// js evaluates an expression, awaiting what it promises, and gives its value.
func (b *browser) js(expression string) any {
	b.t.Helper()
	var r struct {
		Result           struct{ Value any }
		ExceptionDetails json.RawMessage
	}
	b.call("Runtime.evaluate", map[string]any{"expression": expression, "awaitPromise": true, "returnByValue": true, "userGesture": true}, &r)
	if r.ExceptionDetails != nil {
		b.t.Fatalf("%s: %s", expression, r.ExceptionDetails)
	}
	return r.Result.Value
}

// text gives the value of an expression as text.
func (b *browser) text(expression string) string { b.t.Helper(); return fmt.Sprint(b.js(expression)) }

// until waits for an expression to become true.
func (b *browser) until(expression string) {
	b.t.Helper()
	end := time.Now().Add(20 * time.Second)
	for b.js(expression) != true {
		if time.Now().After(end) {
			b.t.Fatalf("%s did not become true; the page shows %.400s", expression, b.text("document.body.innerText"))
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// key presses a key as a person does.
func (b *browser) key(name, code string, number int) {
	b.t.Helper()
	p := map[string]any{"type": "keyDown", "key": name, "code": code, "windowsVirtualKeyCode": number}
	if name == "Enter" {
		p["text"] = "\r"
	}
	b.call("Input.dispatchKeyEvent", p, nil)
	p["type"] = "keyUp"
	b.call("Input.dispatchKeyEvent", p, nil)
}

// open goes to a file and waits until its script is through; it gives the time
// that this took.
func (b *browser) open(path string) time.Duration {
	b.t.Helper()
	start := time.Now()
	b.call("Page.navigate", map[string]any{"url": "file://" + filepath.ToSlash(path)}, nil)
	for {
		if b.js("document.documentElement && document.documentElement.dataset.ready === 'yes' && !!document.querySelector('#tanks tbody tr')") == true {
			return time.Since(start)
		}
		if time.Since(start) > 30*time.Second {
			b.t.Fatalf("the page did not get ready: %v", b.faults)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// work is the processor time that the page's own thread has taken.
func (b *browser) work() time.Duration {
	b.t.Helper()
	var m struct {
		Metrics []struct {
			Name  string
			Value float64 // in seconds
		}
	}
	b.call("Performance.getMetrics", nil, &m)
	for _, x := range m.Metrics {
		if x.Name == "ThreadTime" {
			return time.Duration(x.Value * float64(time.Second))
		}
	}
	b.t.Fatal("the browser does not tell the time of the page's thread")
	return 0
}

// see keeps a picture of what is shown, where DROPCUT_SHOTS names a folder.
func (b *browser) see(name string) {
	b.t.Helper()
	dir := os.Getenv("DROPCUT_SHOTS")
	if dir == "" {
		return
	}
	var shot struct{ Data string }
	b.call("Page.captureScreenshot", map[string]any{"format": "png", "captureBeyondViewport": false}, &shot)
	keep(b.t, filepath.Join(dir, name+".png"), shot.Data)
}

func keep(t *testing.T, path, encoded string) {
	t.Helper()
	data, err := base64.StdEncoding.DecodeString(encoded)
	if err == nil {
		err = os.WriteFile(path, data, 0o666)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// quiet fails where the page has said anything on the console, or has asked for
// anything but itself.
func (b *browser) quiet(page string) {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, f := range b.faults {
		b.t.Errorf("the console says %s", f)
	}
	for _, u := range b.asked {
		if !strings.HasPrefix(u, "file://"+filepath.ToSlash(page)) && u != "about:blank" {
			b.t.Errorf("the page asked for %s", u)
		}
	}
}
