//! A value as the JSON interface describes it. There a document is always a table.

use utoipa::openapi::RefOr;
use utoipa::openapi::schema::{AdditionalProperties, ObjectBuilder, Schema, Type};

use crate::Value;

impl utoipa::PartialSchema for Value {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::Object)
            .description(Some("Keys and values as docs/sheet.md has them. Numbers keep the digits that were typed."))
            .additional_properties(Some(AdditionalProperties::FreeForm(true)))
            .into()
    }
}

impl utoipa::ToSchema for Value {
    fn name() -> std::borrow::Cow<'static, str> {
        "Table".into()
    }
}
