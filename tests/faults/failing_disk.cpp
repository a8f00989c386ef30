// See failing_disk.h. By the interface for files that SQLite documents (sqlite.org/vfs.html).
#include "faults/failing_disk.h"

#include <sqlite3.h>

#include <atomic>

namespace roomwright::faults {

namespace {

sqlite3_vfs* system_files = nullptr;
std::atomic<long> left{-1}, seen{0};
std::atomic<bool> torn{false};
std::atomic<DiskFault> kind{DiskFault::full};

struct Shim {
  sqlite3_file base;
  sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};
sqlite3_file* real(sqlite3_file* file) {
  return reinterpret_cast<Shim*>(file)->real();
}

/// Whether this write may go through.
bool spent() {
  ++seen;
  if (left < 0) return false;
  if (left == 0) return true;
  --left;
  return false;
}

int shim_write(sqlite3_file* file, const void* bytes, int count, sqlite3_int64 at) {
  if (!spent()) return real(file)->pMethods->xWrite(real(file), bytes, count, at);
  if (kind == DiskFault::full) return SQLITE_FULL;
  if (!torn.exchange(true)) real(file)->pMethods->xWrite(real(file), bytes, count / 2, at);
  return SQLITE_IOERR_WRITE;
}
int shim_truncate(sqlite3_file* file, sqlite3_int64 size) {
  if (left == 0 && kind == DiskFault::torn) return SQLITE_IOERR_TRUNCATE;
  return real(file)->pMethods->xTruncate(real(file), size);
}
int shim_sync(sqlite3_file* file, int flags) {
  if (left == 0 && kind == DiskFault::torn) return SQLITE_IOERR_FSYNC;
  return real(file)->pMethods->xSync(real(file), flags);
}

const sqlite3_io_methods* shim_methods() {
  static sqlite3_io_methods methods = {};
  methods.iVersion = 3;
  methods.xClose = [](sqlite3_file* f) { return real(f)->pMethods->xClose(real(f)); };
  methods.xRead = [](sqlite3_file* f, void* to, int n, sqlite3_int64 at) {
    return real(f)->pMethods->xRead(real(f), to, n, at);
  };
  methods.xWrite = shim_write;
  methods.xTruncate = shim_truncate;
  methods.xSync = shim_sync;
  methods.xFileSize = [](sqlite3_file* f, sqlite3_int64* size) {
    return real(f)->pMethods->xFileSize(real(f), size);
  };
  methods.xLock = [](sqlite3_file* f, int level) {
    return real(f)->pMethods->xLock(real(f), level);
  };
  methods.xUnlock = [](sqlite3_file* f, int level) {
    return real(f)->pMethods->xUnlock(real(f), level);
  };
  methods.xCheckReservedLock = [](sqlite3_file* f, int* out) {
    return real(f)->pMethods->xCheckReservedLock(real(f), out);
  };
  methods.xFileControl = [](sqlite3_file* f, int op, void* with) {
    return real(f)->pMethods->xFileControl(real(f), op, with);
  };
  methods.xSectorSize = [](sqlite3_file* f) { return real(f)->pMethods->xSectorSize(real(f)); };
  methods.xDeviceCharacteristics = [](sqlite3_file* f) {
    return real(f)->pMethods->xDeviceCharacteristics(real(f));
  };
  methods.xShmMap = [](sqlite3_file* f, int region, int size, int extend, void volatile** out) {
    return real(f)->pMethods->xShmMap(real(f), region, size, extend, out);
  };
  methods.xShmLock = [](sqlite3_file* f, int offset, int n, int flags) {
    return real(f)->pMethods->xShmLock(real(f), offset, n, flags);
  };
  methods.xShmBarrier = [](sqlite3_file* f) { real(f)->pMethods->xShmBarrier(real(f)); };
  methods.xShmUnmap = [](sqlite3_file* f, int remove) {
    return real(f)->pMethods->xShmUnmap(real(f), remove);
  };
  methods.xFetch = [](sqlite3_file* f, sqlite3_int64 at, int n, void** out) {
    return real(f)->pMethods->xFetch(real(f), at, n, out);
  };
  methods.xUnfetch = [](sqlite3_file* f, sqlite3_int64 at, void* page) {
    return real(f)->pMethods->xUnfetch(real(f), at, page);
  };
  return &methods;
}

int shim_open(sqlite3_vfs*, sqlite3_filename name, sqlite3_file* file, int flags, int* out) {
  file->pMethods = nullptr;
  const int code = system_files->xOpen(system_files, name, real(file), flags, out);
  if (code == SQLITE_OK) file->pMethods = shim_methods();
  return code;
}

}  // namespace

void install_failing_disk() {
  static sqlite3_vfs shim;
  if (system_files) return;
  system_files = sqlite3_vfs_find(nullptr);
  shim = *system_files;
  shim.pNext = nullptr;
  shim.zName = "failing disk";
  shim.szOsFile = int(sizeof(Shim)) + system_files->szOsFile;
  shim.xOpen = shim_open;
  sqlite3_vfs_register(&shim, 1);
}

void fail_after(long writes, DiskFault fault) {
  left = writes;
  kind = fault;
  seen = 0;
  torn = false;
}

long writes_seen() {
  return seen;
}

}  // namespace roomwright::faults
