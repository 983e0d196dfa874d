package register

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"stillwatch/permits/register/store"
)

// keysSuffix is put after a backup's name for the file with the two secrets that the database does not hold.
const keysSuffix = ".keys"

// syncFile puts a file on the disk.
func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("sync %s: %w", path, err)
	}
	err = f.Sync()
	if e := f.Close(); err == nil {
		err = e
	}
	return err
}

// Backup writes a copy of a data folder's register as it stands at one moment, also while the program runs on it: the
// database into file, the ship's key and the pepper into file.keys, which only its owner may read. Neither may
// exist. It verifies the copy before it says that there is one; a copy that is not whole is kept and is an error.
func Backup(ctx context.Context, dir, file string, now time.Time) (Report, error) {
	keys, err := readSecrets(dir)
	if err != nil {
		return Report{}, err
	}
	db, err := store.OpenFile(dir)
	if err != nil {
		return Report{}, err
	}
	report, err := backup(ctx, db, file, keys)
	if err == nil {
		err = db.SetMark(ctx, lastBackupMark, now.UTC().Format(time.RFC3339))
	}
	if err = errors.Join(err, db.Close()); err != nil {
		return report, fmt.Errorf("back up the register in %s: %w", dir, err)
	}
	return report, nil
}

func backup(ctx context.Context, db *store.Database, file string, keys []byte) (Report, error) {
	if err := db.Now(ctx).CheckFormat(); err != nil {
		return Report{}, err
	}
	if err := writeSecret(file, nil); err != nil {
		return Report{}, err
	}
	if err := db.CopyTo(ctx, file); err != nil {
		return Report{}, errors.Join(err, os.Remove(file))
	}
	if err := syncFile(file); err != nil {
		return Report{}, err
	}
	if err := writeSecret(file+keysSuffix, keys); err != nil {
		return Report{}, err
	}
	return wholeCopy(ctx, file, keys, filepath.Dir(file))
}

// wholeCopy verifies a backup by putting it, for the moment, into a folder of its own below where.
func wholeCopy(ctx context.Context, file string, keys []byte, where string) (report Report, err error) {
	dir, err := os.MkdirTemp(where, ".checking-*")
	if err != nil {
		return report, fmt.Errorf("check the copy: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	if err := putBack(file, keys, dir); err != nil {
		return report, err
	}
	if report, err = Verify(ctx, dir); err != nil {
		return report, err
	}
	if !report.OK() {
		return report, fmt.Errorf("the copy is not whole: %s", report.Faults[0])
	}
	return report, nil
}

// Restore puts a backup back into a data folder that holds no register, after having verified it. It needs both files.
func Restore(ctx context.Context, file, dir string) (Report, error) {
	keys, err := os.ReadFile(file + keysSuffix)
	if err != nil {
		return Report{}, fmt.Errorf("restore %s: its keys: %w", file, err)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return Report{}, fmt.Errorf("restore %s: %w", file, err)
	}
	for _, name := range []string{store.File, store.File + "-wal", keyFile, pepperFile} {
		if there, err := exists(filepath.Join(dir, name)); there || err != nil {
			return Report{}, errors.Join(fmt.Errorf("restore %s: the folder %s already has %s; take an empty one", file, dir,
				name), err)
		}
	}
	report, err := wholeCopy(ctx, file, keys, dir)
	if err != nil {
		return report, fmt.Errorf("restore %s: %w", file, err)
	}
	if err := putBack(file, keys, dir); err != nil { // a part of a register would keep the next try out
		for _, name := range []string{store.File, keyFile, pepperFile} {
			err = errors.Join(err, os.RemoveAll(filepath.Join(dir, name)))
		}
		return report, fmt.Errorf("restore %s: %w", file, err)
	}
	return report, nil
}

// readSecrets joins the two secret files into one text, a name before each line.
func readSecrets(dir string) ([]byte, error) {
	var out []byte
	for _, name := range []string{keyFile, pepperFile} {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			return nil, fmt.Errorf("read the keys: %w", err)
		}
		out = fmt.Appendf(out, "%s %d\n%s", name, len(text), text)
	}
	return out, nil
}

// putBack writes database, key and pepper into a folder; the database last, since it makes the folder a register.
func putBack(file string, keys []byte, dir string) error {
	for len(keys) > 0 {
		var name string
		var size int
		if _, err := fmt.Sscanf(string(keys), "%s %d\n", &name, &size); err != nil || name != keyFile && name != pepperFile {
			return errors.New("the file of keys is damaged")
		}
		head := len(fmt.Sprintf("%s %d\n", name, size))
		if size < 0 || head+size > len(keys) {
			return errors.New("the file of keys is cut short")
		}
		if err := writeSecret(filepath.Join(dir, name), keys[head:head+size]); err != nil {
			return err
		}
		keys = keys[head+size:]
	}
	return copyFile(file, filepath.Join(dir, store.File))
}

// copyFile copies into a new file that only its owner may read.
func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return fmt.Errorf("copy: %w", err)
	}
	defer in.Close() // read only
	if err := writeSecret(to, nil); err != nil {
		return err
	}
	out, err := os.OpenFile(to, os.O_WRONLY, 0)
	if err != nil {
		return fmt.Errorf("copy: %w", err)
	}
	_, err = io.Copy(out, in)
	if err == nil {
		err = out.Sync()
	}
	if e := out.Close(); err == nil {
		err = e
	}
	if err != nil {
		return fmt.Errorf("copy %s: %w", from, err)
	}
	return nil
}
