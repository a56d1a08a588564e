# Targets a person uses: demo, test. Slow proofs and benchmarks are targets of their own.
GO ?= go
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2
VERSION := $(shell git describe --always --dirty 2>/dev/null || echo unknown)
LDFLAGS = -X flywitness/cmd/internal/cli.Version=$(VERSION)
DEMO = demo-out
REAL ?= ../shared/real-drives
# The database that the tests run against, built from its Go module into a cache outside this one.
INFLUXD_VERSION = 1.8.10
export FLYWITNESS_INFLUXD ?= $(or $(XDG_CACHE_HOME),$(HOME)/.cache)/flywitness/influxd-$(INFLUXD_VERSION)/influxd

# Where make install puts things: PREFIX=$HOME/.local needs no administrator; DESTDIR stands before it for whoever packs.
PREFIX ?= /usr/local
PROGRAMS = fw-analyze fw-logger

.PHONY: build install uninstall demo test lint deps real proof bench bench-peers fuzz web cross clean influxd

build:
	$(GO) build -ldflags "$(LDFLAGS)" -o bin/ ./cmd/...
	cd bin && for p in analyze logger; do ln -f $$p fw-$$p; done

install: build
	install -d "$(DESTDIR)$(PREFIX)/bin"
	for p in $(PROGRAMS); do install -m 755 bin/$$p "$(DESTDIR)$(PREFIX)/bin/" && bin/$$p manual "$(DESTDIR)$(PREFIX)/share" || exit 1; done
	@case ":$$PATH:" in *":$(PREFIX)/bin:"*) ;; *) echo "$(PREFIX)/bin is not on this shell's PATH: put it there";; esac

uninstall:
	for p in $(PROGRAMS); do rm -f "$(DESTDIR)$(PREFIX)/bin/$$p" "$(DESTDIR)$(PREFIX)/share/man/man1/$$p".1 "$(DESTDIR)$(PREFIX)/share/man/man1/$$p"-*.1 \
		"$(DESTDIR)$(PREFIX)/share/bash-completion/completions/$$p" "$(DESTDIR)$(PREFIX)/share/zsh/site-functions/_$$p" \
		"$(DESTDIR)$(PREFIX)/share/fish/vendor_completions.d/$$p.fish"; done

demo: build
	bin/fw-analyze job testdata/demo/job.toml --out $(DEMO)
	@echo "The truth behind the demo drive is in testdata/demo/truth.json"

# Packages that start goroutines. race_test.go holds that none is left out.
CONCURRENT = ./analysis ./analysis/calibrate ./analysis/clocks ./analysis/detect ./analysis/gearstate ./analysis/motion ./analysis/slip \
	./capture ./capture/adapter ./capture/csvlog ./capture/emulator ./capture/influx ./capture/source ./cmd/analyze \
	./cmd/internal/cli ./cmd/logger ./dashboards/browse ./dashboards/fleet ./dashboards/live ./dashboards/report \
	./dashboards/web ./drive ./finding ./internal/blocks ./internal/influxd ./internal/order ./internal/parts

# All tests as they are, then the race detector over the packages that start goroutines: it takes ten times as long, so
# tests of numbers alone are left out there (-short, numbers.Only). The commands come first, since they wait most. One package
# more runs at a time than there are cores, since some wait for real time; what vet finds, lint has told.
AT_ONCE = -p $$(($$(getconf _NPROCESSORS_ONLN) + 1)) -vet=off
test: lint influxd
	$(GO) test $(AT_ONCE) ./cmd/... ./...
	$(GO) test $(AT_ONCE) -race -short $(CONCURRENT)

lint:
	@test -z "$$(gofmt -l .)" || { echo "run gofmt on:"; gofmt -l .; exit 1; }
	$(GO) vet ./...
	$(GO) vet -tags proof,real,peers ./...
	$(GO) run $(STATICCHECK) ./...

# Real logs of a healthy car, as a table: make real REAL=folder
real:
	@if [ -d "$(REAL)" ]; then FLYWITNESS_REAL="$(abspath $(REAL))" $(GO) test -count=1 -tags real -run TestRealLogs -v ./cmd/analyze; \
	else echo "there is no folder $(REAL): nothing to do; name one with make real REAL=folder"; fi

# The long simulations behind docs/accuracy*.md.
proof: influxd
	$(GO) test -count=1 -timeout 0 -tags proof -run TestProof -v ./...

# An InfluxDB server for the tests, which start it on a free port of this machine and stop it. Two minutes the first time.
influxd: $(FLYWITNESS_INFLUXD)
$(FLYWITNESS_INFLUXD):
	cd / && GOBIN="$(dir $(FLYWITNESS_INFLUXD))" GOFLAGS= $(GO) install github.com/influxdata/influxdb/cmd/influxd@v$(INFLUXD_VERSION)

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./...

# Each fuzz target for FUZZTIME on FUZZCORES cores. What is found lies in the package's testdata and fails its tests from then on.
FUZZTIME ?= 1m
FUZZCORES ?= 1
fuzz:
	@grep -rno --include=*_test.go '^func Fuzz[A-Za-z]*' . | sed 's#^\./\(.*\)/[^/]*:[0-9]*:func \(.*\)#\1 \2#' | sort | while read -r dir target; do \
		echo "$$dir $$target"; \
		$(GO) test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 1x -parallel $(FUZZCORES) "./$$dir" || exit 1; \
	done

# One day of driving, loaded in turn by this program, DuckDB, pandas and encoding/csv. What is not there is said and left out.
PEERS ?= $(or $(XDG_CACHE_HOME),$(HOME)/.cache)/flywitness/peers
bench-peers:
	@if command -v npm >/dev/null && [ ! -d "$(PEERS)/node_modules/@duckdb/node-api" ]; then npm install --silent --no-audit --no-fund --prefix "$(PEERS)" @duckdb/node-api@1.5.6-r.1 || true; fi
	FLYWITNESS_PEERS="$(PEERS)" $(GO) test -count=1 -timeout 0 -tags peers -run 'TestPeers$$' -v ./cmd/analyze

# The zoomable charts of the pages (needs npm). The pages work without them.
web:
	cd dashboards/web && npm ci --no-audit --no-fund && npm run build

cross:
	GOOS=linux GOARCH=arm64 $(GO) build -o dist/linux-arm64/ ./cmd/...
	GOOS=linux GOARCH=arm $(GO) build -o dist/linux-arm/ ./cmd/...
	GOOS=windows GOARCH=amd64 $(GO) build -o dist/windows-amd64/ ./cmd/...
	for f in dist/*/analyze* dist/*/logger*; do mv $$f $${f%/*}/fw-$${f##*/}; done

clean:
	rm -rf bin dist $(DEMO)

# What the tests use beside Go: a browser and a PDF reader from Debian's packages, the zoomable charts from npm. Nothing is installed where it is
# present; without npm the pages have static charts and their zoom is not tested.
deps:
	@if command -v npm >/dev/null; then $(MAKE) web; fi
	@command -v chromium >/dev/null && command -v pdftoppm >/dev/null || { apt-get update && apt-get install -y --no-install-recommends chromium poppler-utils; }
