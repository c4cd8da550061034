# One place for the warning level and the sanitizers; every target of ours links it.
add_library(glassine_warnings INTERFACE)
target_compile_options(glassine_warnings INTERFACE
  -Wall -Wextra -Wconversion -Wshadow -Wstrict-prototypes -Wmissing-prototypes -Wvla)
target_compile_definitions(glassine_warnings INTERFACE _POSIX_C_SOURCE=200809L _FILE_OFFSET_BITS=64)
if(WIN32)
  # The headers there give what Windows lacks of POSIX (base/windows/posix.h).
  target_include_directories(glassine_warnings SYSTEM BEFORE INTERFACE
    ${PROJECT_SOURCE_DIR}/libformat/base/windows ${PROJECT_SOURCE_DIR}/libformat)
  target_compile_definitions(glassine_warnings INTERFACE
    _WIN32_WINNT=0x0A00 WIN32_LEAN_AND_MEAN __USE_MINGW_ANSI_STDIO=1)
  # The compiler checks formats by Windows' own printf, where C's is linked, and warns of isfinite in its own header;
  # the builds for other systems check both.
  target_compile_options(glassine_warnings INTERFACE
    -Wno-format -Wno-format-extra-args -Wno-float-conversion)
endif()
if(GLASSINE_WERROR)
  target_compile_options(glassine_warnings INTERFACE -Werror)
endif()
if(GLASSINE_FUZZ)
  add_compile_options(-fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
  add_link_options(-fsanitize=address,undefined)
endif()
if(GLASSINE_SANITIZE)
  add_compile_options(-fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
  add_link_options(-fsanitize=address,undefined)
endif()
