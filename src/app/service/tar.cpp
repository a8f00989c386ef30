// Files as one archive, by libarchive.
#include "app/service/tar.h"

#include <archive.h>
#include <archive_entry.h>

#include <clocale>
#include <memory>

#include "app/service/parts.h"

namespace roomwright::app {

namespace {

la_ssize_t take_bytes(archive*, void* to, const void* bytes, std::size_t count) {
  static_cast<std::string*>(to)->append(static_cast<const char*>(bytes), count);
  return la_ssize_t(count);
}

/// The library takes names in the thread's own character set: UTF-8 while this lives, whatever the
/// machine's is. (Names given to it as UTF-8 end its 3.6.2 where that set cannot write them.)
class Utf8Names {
 public:
  Utf8Names() : own_(newlocale(LC_CTYPE_MASK, "C.UTF-8", nullptr)) {
    if (own_) before_ = uselocale(own_);
  }
  ~Utf8Names() {
    if (!own_) return;
    uselocale(before_);
    freelocale(own_);
  }
  Utf8Names(const Utf8Names&) = delete;
  Utf8Names& operator=(const Utf8Names&) = delete;

  /// What cannot be written becomes `_`.
  std::string plain(const std::string& path) const {
    std::string out = path;
    if (!own_ || !valid_utf8(path))
      for (char& sign : out)
        if (static_cast<unsigned char>(sign) >= 0x80) sign = '_';
    return out;
  }

 private:
  locale_t own_, before_ = nullptr;
};

Complaint archive_fault(archive* made) {
  const char* what = archive_error_string(made);
  return {"",
          std::string("the archive cannot be written: ") + (what ? what : "no reason given"),
          {},
          "",
          0};
}

}  // namespace

Result<std::string> tar_bytes(const std::vector<PackFile>& files, std::int64_t seconds) {
  std::string out;
  const Utf8Names names;
  const std::unique_ptr<archive, int (*)(archive*)> made(archive_write_new(), archive_write_free);
  if (!made) return Complaint{"", "the archive cannot be written: no memory", {}, "", 0};
  if (archive_write_set_format_pax_restricted(made.get()) != ARCHIVE_OK ||
      archive_write_open2(made.get(), &out, nullptr, take_bytes, nullptr, nullptr) != ARCHIVE_OK)
    return archive_fault(made.get());
  for (const PackFile& file : files) {
    const std::unique_ptr<archive_entry, void (*)(archive_entry*)> entry(archive_entry_new(),
                                                                         archive_entry_free);
    archive_entry_set_pathname(entry.get(), names.plain(file.path).c_str());
    archive_entry_set_size(entry.get(), la_int64_t(file.bytes.size()));
    archive_entry_set_filetype(entry.get(), AE_IFREG);
    archive_entry_set_perm(entry.get(), 0600);
    archive_entry_set_mtime(entry.get(), seconds, 0);
    if (archive_write_header(made.get(), entry.get()) != ARCHIVE_OK ||
        archive_write_data(made.get(), file.bytes.data(), file.bytes.size()) !=
            la_ssize_t(file.bytes.size()))
      return archive_fault(made.get());
  }
  if (archive_write_close(made.get()) != ARCHIVE_OK) return archive_fault(made.get());
  return out;
}

}  // namespace roomwright::app
