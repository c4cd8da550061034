/* The page's style, tools and script: converters/html/, made into bytes by cmake/EmbedPage.cmake. */
#ifndef CONVERTERS_HTML_SOURCES_H
#define CONVERTERS_HTML_SOURCES_H

extern const unsigned char html_style[], html_tools[], html_script[];
extern const unsigned long html_style_length, html_tools_length, html_script_length;
extern const char html_style_sha256[], html_tools_sha256[], html_script_sha256[];

#endif
