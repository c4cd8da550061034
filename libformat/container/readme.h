/* The text of read-me.txt in every bundle: how to read it in fifty years. Private to this layer. */
#ifndef GL_CONTAINER_README_H
#define GL_CONTAINER_README_H

extern const char gl_readme_text[];

#endif
