package doctor

import (
	"syscall"
	"unsafe"
)

// freeSpace returns how many bytes of the folder's disk this account may still fill.
func freeSpace(folder string) (uint64, error) {
	path, err := syscall.UTF16PtrFromString(folder)
	if err != nil {
		return 0, err
	}
	var free uint64
	ask := syscall.NewLazyDLL("kernel32.dll").NewProc("GetDiskFreeSpaceExW")
	if ok, _, err := ask.Call(uintptr(unsafe.Pointer(path)), uintptr(unsafe.Pointer(&free)), 0, 0); ok == 0 {
		return 0, err
	}
	return free, nil
}
