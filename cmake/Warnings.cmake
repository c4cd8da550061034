# One place for the warning level and the sanitizers; every target of ours links it.
add_library(glassine_warnings INTERFACE)
target_compile_options(glassine_warnings INTERFACE
  -Wall -Wextra -Wconversion -Wshadow -Wstrict-prototypes -Wmissing-prototypes -Wvla)
target_compile_definitions(glassine_warnings INTERFACE _POSIX_C_SOURCE=200809L _FILE_OFFSET_BITS=64)
if(GLASSINE_WERROR)
  target_compile_options(glassine_warnings INTERFACE -Werror)
endif()
if(GLASSINE_SANITIZE)
  add_compile_options(-fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer)
  add_link_options(-fsanitize=address,undefined)
endif()
