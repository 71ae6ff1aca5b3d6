#include "text/module.h"

#include <dlfcn.h>

#include <filesystem>
#include <map>
#include <mutex>

#include "text/file.h"

namespace kitgap {
namespace {

void* load(std::string_view module) {
  std::error_code failed;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", failed);
  const auto folder = program.parent_path();
  const std::string name = std::string(module) + ".so";
  for (const auto& place : {folder, folder / "bin", folder / ".." / "lib" / "kitgap"}) {
    const auto path = place / name;
    if (!std::filesystem::exists(path, failed)) continue;
    if (void* handle = ::dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL)) return handle;
    throw MachineFailure{"cannot load `" + printable(path.string()) + "`: " + printable(::dlerror())};
  }
  throw MachineFailure{"the program's module `" + name + "` is not beside it, in `" +
                       printable(folder.string()) + "`"};
}

}  // namespace

void* module_symbol(std::string_view module, const char* symbol) {
  static std::mutex guard;
  static std::map<std::string, void*, std::less<>> loaded;
  const std::lock_guard lock(guard);
  auto entry = loaded.find(module);
  if (entry == loaded.end()) entry = loaded.emplace(module, load(module)).first;
  if (void* found = ::dlsym(entry->second, symbol)) return found;
  throw MachineFailure{"the program's module `" + std::string(module) + "` is of another version"};
}

}  // namespace kitgap
