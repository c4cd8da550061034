#include_next <limits.h>

/* Windows' old limit does not hold here (gl_windows_path). */
#undef PATH_MAX
#define PATH_MAX 4096
