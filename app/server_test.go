package main

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // makes a database
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
	"linerwatch/app/study"
)

// emptyDatabase makes a database and returns its address.
func emptyDatabase(t *testing.T) string {
	t.Helper()
	address := os.Getenv("LINERWATCH_POSTGRES")
	if address == "" {
		t.Skip("needs a PostgreSQL server: run .ci/peers store")
	}
	db, err := sql.Open("pgx", address)
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	name := fmt.Sprintf("app_%d_%d", os.Getpid(), time.Now().UnixNano())
	_, err = db.ExecContext(t.Context(), "CREATE DATABASE "+name)
	require.NoError(t, err)
	return strings.Replace(address, "/postgres?", "/"+name+"?", 1)
}

// told runs a command that has to succeed and returns what it says.
func told(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	env := cli.Env{Stdout: &out, Stderr: &errs, Version: version(), Studies: studies(), Stdin: strings.NewReader(""), Getenv: func(string) string { return "" },
		Now: func() time.Time { return time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC) }}
	require.Zero(t, cli.Run(context.Background(), args, env), errs.String())
	return out.String()
}

// exported returns the tables of a study, by name.
func exported(t *testing.T, name string) map[string]string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "package")
	told(t, "study", "export", name, "--out", dir)
	out := map[string]string{}
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range list {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		require.NoError(t, err)
		out[e.Name()] = string(b)
	}
	return out
}

// A study on a server and in a file give the same bytes of export, there and back.
func TestOnAServerAndInAFileExportsAreTheSame(t *testing.T) {
	address := emptyDatabase(t)
	dir := t.TempDir()
	told(t, "demo", "--window=false", "--out", filepath.Join(dir, "demo"))
	name := study.NameOf(address) + study.FileExt // an export tells it
	file, back := filepath.Join(dir, "demo", name), filepath.Join(dir, name)
	require.NoError(t, os.Rename(filepath.Join(dir, "demo", "demo.linerwatch"), file))
	told(t, "study", "copy", file, address)
	told(t, "study", "copy", address, back)
	want := exported(t, file)
	require.Contains(t, want, "films.csv")
	for _, name := range []string{address, back} {
		got := exported(t, name)
		assert.Equal(t, len(want), len(got))
		for table, text := range want {
			assert.True(t, text == got[table], "%s of %s", table, name)
		}
		assert.Equal(t, told(t, "study", "list", file), told(t, "study", "list", name))
		told(t, "study", "check", name) // fails where something does not hold
	}
	bytesOf := 0
	for _, text := range want {
		bytesOf += len(text)
	}
	t.Logf("peers: %d bytes of %d files of an export are the same of file, server and a file made of that", bytesOf, len(want))
}

// Two programs measure the films of a study on a server: each film once.
func TestOnAServerTwoMeasure(t *testing.T) {
	address := emptyDatabase(t)
	dir := t.TempDir()
	films, hips := filepath.Join(dir, "demo"), filepath.Join(dir, "hips.csv")
	told(t, "demo", "--window=false", "--out", films)
	require.NoError(t, os.WriteFile(hips, []byte("patient,side,surgery,head_mm\nQ7-031,right,2004-05-03,28\nQ7-058,left,2006-09-18,32\n"+
		"Q7-102,right,2009-02-09,36\nQ7-117,left,1998-11-23,28\n"), 0o600))
	require.NoError(t, os.Remove(filepath.Join(films, "trend.png")))
	told(t, "study", "new", address)
	told(t, "study", "import", address, films, "--reader", "R9", "--hips", hips)
	said := make(chan string, 2)
	for range 2 {
		go func() { said <- told(t, "study", "measure", address) }()
	}
	var did [2]int
	for i := range did {
		_, err := fmt.Sscanf(<-said, "Measured: %d films proposed", &did[i])
		require.NoError(t, err)
	}
	assert.Equal(t, 22, did[0]+did[1])
	assert.Contains(t, told(t, "study", "measure", address), "22 had been searched before")
	told(t, "study", "check", address)
	t.Logf("peers: 22 films measured by two programs, %d and %d, each once", did[0], did[1])
}

// A coordinator tells who reads under which codes; the trail keeps it, and so does a file made of the study.
func TestOnAServerCodesAreGranted(t *testing.T) {
	address := emptyDatabase(t)
	told(t, "study", "new", address)
	name := study.NameOf(address)
	db, err := sql.Open("pgx", address)
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	for _, statement := range []string{"CREATE ROLE " + name + "_b LOGIN", "GRANT " + name + "_reader TO " + name + "_b"} {
		_, err := db.ExecContext(t.Context(), statement)
		require.NoError(t, err)
	}
	assert.Equal(t, "user,code\r\n", told(t, "study", "readers", address, "--format", "csv"))
	told(t, "study", "readers", address, "--user", name+"_b", "--codes", "R2, R1", "--by", "K")
	want := "user,code\r\n" + name + "_b,R1\r\n" + name + "_b,R2\r\n"
	assert.Equal(t, want, told(t, "study", "readers", address, "--format", "csv"))
	assert.Contains(t, told(t, "study", "readers", address, "--user", name+"_b", "--codes", "", "--format", "json"), "[]")
	told(t, "study", "check", address)
	file := filepath.Join(t.TempDir(), "a"+study.FileExt)
	told(t, "study", "copy", address, file)
	told(t, "study", "check", file)
}
