#include "text/zip_module.h"

#include <zip.h>

#include <array>

namespace {

void* open_archive(const char* bytes, std::uint64_t size) {
  zip_source_t* source = zip_source_buffer_create(bytes, size, 0, nullptr);
  if (source == nullptr) return nullptr;
  zip_t* archive = zip_open_from_source(source, ZIP_RDONLY | ZIP_CHECKCONS, nullptr);
  if (archive == nullptr) zip_source_free(source);
  return archive;
}

std::int64_t entry_count(void* archive) {
  return zip_get_num_entries(static_cast<zip_t*>(archive), 0);
}

int entry(void* archive, std::uint64_t index, KitgapZipEntry* out) {
  zip_stat_t status;
  zip_stat_init(&status);
  if (zip_stat_index(static_cast<zip_t*>(archive), index, 0, &status) != 0) return 0;
  constexpr zip_uint64_t kNeeded = ZIP_STAT_NAME | ZIP_STAT_SIZE | ZIP_STAT_COMP_SIZE;
  if ((status.valid & kNeeded) != kNeeded) return 0;
  const bool encrypted =
      (status.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 && status.encryption_method != ZIP_EM_NONE;
  *out = {status.name, status.comp_size, status.size, encrypted ? 1 : 0};
  return 1;
}

int read_entry(void* archive, std::uint64_t index, KitgapZipSink sink, void* context) {
  zip_file_t* file = zip_fopen_index(static_cast<zip_t*>(archive), index, 0);
  if (file == nullptr) return -1;
  std::array<char, 65'536> buffer;
  int result = 1;
  while (result == 1) {
    const zip_int64_t count = zip_fread(file, buffer.data(), buffer.size());
    if (count == 0) break;
    if (count < 0)
      result = -1;
    else if (sink(context, buffer.data(), static_cast<std::uint64_t>(count)) == 0)
      result = 0;
  }
  return zip_fclose(file) != 0 && result == 1 ? -1 : result;
}

void close_archive(void* archive) {
  zip_discard(static_cast<zip_t*>(archive));
}

constexpr KitgapZip kModule = {kKitgapZipVersion, open_archive, entry_count, entry,
                               read_entry,        close_archive};

}  // namespace

extern "C" __attribute__((visibility("default"))) const KitgapZip* kitgap_zip() {
  return &kModule;
}
