# Targets a person uses: demo, test. Slow proofs and benchmarks are targets of their own.
GO ?= go
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2
VERSION := $(shell git describe --always --dirty 2>/dev/null || echo unknown)
LDFLAGS = -X flywitness/cmd/internal/cli.Version=$(VERSION)

.PHONY: build test lint deps

build:
	$(GO) build -ldflags "$(LDFLAGS)" -o bin/ ./cmd/...

test: lint
	$(GO) test -race ./...

lint:
	@test -z "$$(gofmt -l .)" || { echo "run gofmt on:"; gofmt -l .; exit 1; }
	$(GO) vet ./...
	$(GO) run $(STATICCHECK) ./...

# Debian packages that the tests use beside Go; nothing to do where they are present.
deps:
	@true
