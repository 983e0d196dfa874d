package register

import (
	"context"
	"fmt"
	"os"

	"gorm.io/gorm"
)

// vacuumInto writes a copy of the database as it stands at one moment; the file must not exist.
func vacuumInto(ctx context.Context, db *gorm.DB, file string) error {
	if err := writeSecret(file, nil); err != nil {
		return err
	}
	if err := db.WithContext(ctx).Exec("VACUUM INTO ?", file).Error; err != nil {
		return fmt.Errorf("write %s: %w", file, err)
	}
	return syncFile(file)
}

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
